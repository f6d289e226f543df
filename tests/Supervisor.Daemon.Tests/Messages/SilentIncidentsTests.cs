using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Messages;
using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Incidents;
using Supervisor.History.Reading;
using Supervisor.Machine.Alarms;
using Supervisor.Machine.Api;
using Supervisor.Records.Alarms;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Tests.Messages;

/// <summary>What a person took out of service calls nobody; one alarm in service beside it does.</summary>
public sealed class SilentIncidentsTests
{
    private static readonly MachineDefinition Demo = MachineFile.Read(Path.Combine(AppContext.BaseDirectory, "demo", "machine.json")).Value!;

    [Fact]
    public void IsSilent_EveryAlarmOutOfService_IsTrue()
    {
        Assert.True(Silent(Shelf("dibber", FaultCode.MotorBlocked)).IsSilent(Story(Fault("dibber", FaultCode.MotorBlocked))));
        Assert.False(Silent().IsSilent(Story(Fault("dibber", FaultCode.MotorBlocked))));
    }

    [Fact]
    public void IsSilent_OneAlarmInService_IsFalse()
    {
        var silent = Silent(Shelf("dibber", FaultCode.MotorBlocked));

        Assert.False(silent.IsSilent(Story(Fault("dibber", FaultCode.MotorBlocked), Fault("gantry", FaultCode.MotorBlocked))));
        Assert.False(silent.IsSilent(Story(Fault("dibber", FaultCode.FollowingError))));
        Assert.False(silent.IsSilent(Story(new NoticeRecord(TimeSpan.Zero, NoticeKind.DiskBack, 0, "back"))));
    }

    [Fact]
    public void PriorityOf_GraverConsequence_CountsAndAlarmsToo()
    {
        Assert.Equal(FaultCatalogue.Entry(FaultCode.MotorBlocked).Priority, IncidentNews.PriorityOf(Story(Fault("dibber", FaultCode.MotorBlocked))));
        Assert.Equal(FaultPriority.High, IncidentNews.PriorityOf(Story(
            Fault("dibber", FaultCode.LinkLost), new AlarmRecord(TimeSpan.Zero, 1_001, AlarmSourceKind.Machine, "", AlarmChange.Raised) { Priority = FaultPriority.High })));
    }

    private static SilentIncidents Silent(params AlarmStatus[] alarms) => new(Demo, () => new AlarmList(1, alarms, 0));

    private static AlarmStatus Shelf(string axis, FaultCode code) => new(
        new AlarmKey((int)code, AlarmSource.Axis(Demo.AxisIndex(axis))), AlarmState.ShelvedActive, FaultPriority.Medium, TimeSpan.Zero, TimeSpan.Zero, 1)
    {
        OutOfService = new OutOfService("someone", "it is being mended", TimeSpan.Zero, TimeSpan.FromHours(1)),
    };

    private static FaultRecord Fault(string axis, FaultCode code) => new(TimeSpan.Zero, axis, "line-a", null, code, FaultCatalogue.ClassOf(code), 0, AxisState.Ready, 0, 0);

    private static IncidentStory Story(params HistoryRecord[] records)
    {
        var stored = records.Select((record, index) => new StoredRecord(index + 1, "boot", DateTimeOffset.UnixEpoch, UtcQuality.Synchronised, record)
        {
            Placement = new Placement(1, index == 0 ? Relation.Leads : Relation.Further),
        }).ToArray();
        return new IncidentStory(new IncidentSummary(1, stored[0], stored[0], null, records.Length, 0, [], IncidentState.Standing, null), [], stored, 0);
    }
}

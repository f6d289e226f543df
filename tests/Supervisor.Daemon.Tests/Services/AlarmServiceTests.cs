using Supervisor.Api.V1;
using Supervisor.Daemon.Services;
using Supervisor.Machine.Api;
using Supervisor.Records.Alarms;
using Supervisor.Records.Faults;
using AlarmChoice = Supervisor.Api.V1.AlarmChoice;
using AlarmKey = Supervisor.Records.Alarms.AlarmKey;
using AlarmSourceKind = Supervisor.Api.V1.AlarmSourceKind;
using AlarmState = Supervisor.Records.Alarms.AlarmState;
using AlarmStatus = Supervisor.Machine.Api.AlarmStatus;

namespace Supervisor.Daemon.Tests.Services;

/// <summary>Alarms as messages, and requests about them as commands.</summary>
public sealed class AlarmServiceTests
{
    private readonly AlarmMapping _mapping = new(SmallMachine.Whole);
    private readonly AlarmReading _reading = new(SmallMachine.Whole);

    [Fact]
    public void Change_TellsWhatDiffersAndWhatEnded()
    {
        var (one, two, three) = (Of(FaultCode.LinkLost, 0), Of(FaultCode.LinkLost, 1), Of(FaultCode.LinkLost, 2));
        var changed = two with { State = AlarmState.AcknowledgedActive };
        var first = _mapping.Change(null, new AlarmList(1, [one, two], 0), "");
        Assert.Equal((2, 0), (first.Alarms.Count, first.Ended.Count));

        var second = _mapping.Change(new AlarmList(1, [one, two], 0), new AlarmList(2, [changed, three], 0), "");
        Assert.Equal([two.Key.Source.Index, three.Key.Source.Index], second.Alarms.Select(alarm => Index(alarm.Key.Source)));
        Assert.Equal("tray", Assert.Single(second.Ended).Source);
    }

    [Fact]
    public void Summary_NamesTheGravestAndCountsByState()
    {
        var shelved = Of(FaultCode.StopFailed, 0, AlarmState.ShelvedActive, FaultPriority.High);
        var list = new AlarmList(1, [Of(FaultCode.MotorBlocked, 1), Of(FaultCode.LinkLost, 2, AlarmState.AcknowledgedActive) with { IsStale = true }, shelved], 0);
        var summary = _mapping.Summary(list);
        Assert.Equal((2, 1, 1, 0, 1), (summary.Count, summary.Unacknowledged, summary.OutOfService, summary.Chattering, summary.Stale));
        Assert.Equal(("motor blocked of gantry", "medium"), (summary.Gravest, summary.GravestPriority));
        Assert.Equal("", _mapping.Summary(new AlarmList(1, [shelved], 0)).Gravest);
    }

    [Fact]
    public void Places_AreOneAnAlarmAndInOrder()
    {
        AlarmStatus[] alarms = [.. from code in new[] { FaultCode.LinkLost, FaultCode.StopFailed } from axis in Enumerable.Range(0, 4) select Of(code, axis)];
        var places = alarms.Select(AlarmReading.Place).ToArray();
        Assert.Equal(places.Length, places.Distinct().Count());
        Assert.All(places, place => Assert.True(place > 0));
        Assert.True(AlarmReading.Place(Of(FaultCode.StopFailed, 0)) < AlarmReading.Place(Of(FaultCode.LinkLost, 1)));
    }

    [Fact]
    public void Choice_ByNameAlone_MeansWhateverHasTheName()
    {
        var command = _reading.Acknowledge(new AcknowledgeAlarmsRequest { Alarms = { new AlarmChoice { Source = "dibber" } }, RequestedBy = "Ada" });
        Assert.Equal(AlarmSource.Axis(2), Assert.Single(command.Alarms).Source);
        Assert.Equal("Ada", command.By);
    }

    [Theory]
    [InlineData("", 101, "tray", false, "requested_by")]
    [InlineData("Ada", 0, "", false, "alarms")]
    [InlineData("Ada", 10_000, "tray", false, "alarms.number")]
    [InlineData("Ada", 101, "dribbler", false, "alarms.source")]
    [InlineData("Ada", 101, "tray", true, "all")]
    public void Acknowledgement_ThatSaysNothing_IsRefusedByItsField(string by, int number, string source, bool all, string field)
    {
        var request = new AcknowledgeAlarmsRequest { Alarms = { new AlarmChoice { Number = number, Source = source } }, All = all, RequestedBy = by };
        Assert.Equal(field, FieldOf(() => _reading.Acknowledge(request)));
    }

    [Theory]
    [InlineData(59, "test", "for")]
    [InlineData(3_600, " ", "reason")]
    public void OutOfService_WithoutATimeOrAReason_IsRefusedByItsField(int seconds, string reason, string field)
    {
        var request = new TakeAlarmsOutOfServiceRequest
        {
            Alarms = { new Api.V1.AlarmKey { Number = 101, SourceKind = AlarmSourceKind.Axis, Source = "tray" } },
            For = new Google.Protobuf.WellKnownTypes.Duration { Seconds = seconds }, Reason = reason, RequestedBy = "Ada",
        };
        Assert.Equal(field, FieldOf(() => _reading.TakeOut(request)));
    }

    private static string FieldOf(Action act)
    {
        var error = Assert.Throws<Grpc.Core.RpcException>(act);
        return Grpc.Core.RpcExceptionExtensions.GetRpcStatus(error)!.GetDetail<Google.Rpc.ErrorInfo>()!.Metadata["field"];
    }

    private static AlarmStatus Of(FaultCode code, int axis, AlarmState state = AlarmState.UnacknowledgedActive, FaultPriority priority = FaultPriority.Medium) =>
        new(new AlarmKey((int)code, AlarmSource.Axis(axis)), state, priority, TimeSpan.Zero, TimeSpan.Zero, 1);

    private static int Index(string name) => SmallMachine.Whole.Axes.Select(axis => axis.Name).ToList().IndexOf(name);
}

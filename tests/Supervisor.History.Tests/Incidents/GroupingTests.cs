using Supervisor.History.Entries;
using Supervisor.History.Incidents;
using Supervisor.Records.Alarms;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using static Supervisor.History.Tests.Incidents.Told;

namespace Supervisor.History.Tests.Incidents;

/// <summary>Which records belong to one incident: the window, and what keeps one open beyond it. The expected values follow from the rules as documented, worked out by hand.</summary>
public sealed class GroupingTests
{
    [Fact]
    public void Fault_First_BeginsAnIncidentThatHasItsNumber()
    {
        var told = new Told();
        Assert.Equal(default, told.This(Command(1, "enable all", null)));

        Assert.Equal(new Placement(2, Relation.Leads), told.This(Fault(10, "tray")));
    }

    [Theory]
    [InlineData(19.99, 1)]
    [InlineData(20, 1)]
    [InlineData(20.01, 2)]
    public void Fault_Later_JoinsUpToTheEndOfTheWindow(double atS, long incident)
    {
        var told = new Told();
        told.This(Fault(10, "tray"));

        var second = told.This(Fault(atS, "drum"));

        Assert.Equal((incident, incident == 1 ? Relation.Further : Relation.Leads), (second.Incident, second.Relation));
    }

    [Fact]
    public void Fault_EachWithinTheWindowOfTheLast_MakesOneChain()
    {
        var told = new Told(windowS: 5);
        for (var second = 0; second < 40; second += 4)
        {
            Assert.Equal(1, told.This(Fault(second, $"axis{second}")).Incident);
        }
    }

    [Fact]
    public void Fault_ToldLaterButSeenEarlier_TakesTheLead()
    {
        var told = new Told();
        Assert.Equal(Relation.Leads, told.This(Fault(10.020, "tray", port: "line-b")).Relation);

        var earlier = told.This(Fault(10.000, "drum"));
        Assert.Equal(new Placement(1, Relation.Leads), earlier);

        // Seen between the two: neither first nor a consequence of anything known.
        Assert.Equal(Relation.Further, told.This(Fault(10.010, "pump", port: "line-c")).Relation);
    }

    [Fact]
    public void Fault_ToldMinutesLater_BelongsWhereItWasSeen_AndLeadsNothing()
    {
        var told = new Told();
        told.This(Fault(100, "tray", FaultCode.LinkLost));
        told.This(Fault(500, "drum", port: "line-b"));

        // Repeats are told together once room is left, with the time of the first of them.
        Assert.Equal(1, told.This(Fault(105, "tray", FaultCode.LinkLost)).Incident);
        Assert.Equal(default, told.This(Fault(300, "tray", FaultCode.LinkLost)));
        Assert.Equal(new Placement(2, Relation.Further), told.This(Fault(502, "pump", port: "line-c")));
    }

    [Fact]
    public void Warning_Alone_BeginsNone_AndJoinsOneThatIsOpen()
    {
        var told = new Told();
        Assert.Equal(default, told.This(Fault(1, "tray", FaultCode.HeatingWarning)));
        told.This(Fault(2, "tray"));

        Assert.Equal(new Placement(2), told.This(Fault(3, "drum", FaultCode.HeatingWarning)));
        Assert.Equal(default, told.This(Fault(12.1, "drum", FaultCode.HeatingWarning)));
    }

    [Fact]
    public void Recovery_UnderWay_KeepsTheIncidentForItsAxisHoweverLongItTakes()
    {
        var told = new Told();
        told.This(Fault(0, "tray", FaultCode.LinkLost));
        told.This(Recovery(1, "tray", RecoveryStep.Begun));

        // Beyond the window of the last step: another axis's fault is another matter, its own is not.
        Assert.Equal(3, told.This(Fault(40, "drum", port: "line-b")).Incident);
        Assert.Equal(1, told.This(Fault(60, "tray", FaultCode.LinkLost)).Incident);
        Assert.Equal(1, told.This(Recovery(61, "tray", RecoveryStep.GivenUp)).Incident);
        Assert.Equal(6, told.This(Fault(90, "tray", FaultCode.LinkLost)).Incident);
    }

    [Fact]
    public void Records_OfAFaultedAxis_JoinUntilItIsReadyAgain()
    {
        var told = new Told();
        told.This(Fault(0, "tray"));

        Assert.Equal(1, told.This(Command(7_200, "reset tray", "tray", axes: "tray")).Incident);
        Assert.Equal(1, told.This(Command(7_201, "reset all", null, axes: ["tray", "drum"])).Incident);
        Assert.Null(told.This(Command(7_202, "move drum 5", "drum", Outcome.Refused, axes: "drum")).Incident);
        Assert.Equal(1, told.This(Back(7_203, "tray", ReturnStep.Cleared)).Incident);
        Assert.Equal(1, told.This(Command(7_204, "enable tray", "tray", axes: "tray")).Incident);
        Assert.Equal(1, told.This(Back(7_205, "tray")).Incident);
        Assert.Null(told.This(Command(7_206, "disable tray", "tray", axes: "tray")).Incident);
    }

    [Fact]
    public void Return_OfAnAxisThatWasOff_EndsWithItsClearing()
    {
        var told = new Told();
        told.This(Fault(0, "tray", state: AxisState.Disabled));
        told.This(Back(100, "tray", ReturnStep.Cleared));

        Assert.Null(told.This(Command(101, "enable tray", "tray", axes: "tray")).Incident);
    }

    [Fact]
    public void Fault_OfTheSameAxisAfterTheWindow_IsAnotherIncidentAndTakesTheAxisWithIt()
    {
        var told = new Told();
        told.This(Fault(0, "tray"));
        told.This(Fault(5, "drum", port: "line-b"));

        Assert.Equal(3, told.This(Fault(100, "tray")).Incident);
        Assert.Equal(3, told.This(Back(101, "tray")).Incident);
        Assert.Equal(1, told.This(Back(102, "drum")).Incident);
    }

    [Fact]
    public void MachineWideRecord_JoinsWithinTheWindowOnly()
    {
        var told = new Told();
        told.This(Fault(100, "tray"));

        Assert.Equal(1, told.This(Trip(99.5)).Incident);
        Assert.Equal(1, told.This(Trip(110)).Incident);
        Assert.Null(told.This(Trip(110.1)).Incident);
        Assert.Null(told.This(Trip(98)).Incident);
    }

    [Theory]
    [InlineData(NoticeKind.DiskBack)]
    [InlineData(NoticeKind.FileSetAside)]
    [InlineData(NoticeKind.RunBroke)]
    [InlineData(NoticeKind.RecordsLost)]
    [InlineData(NoticeKind.FaultsNotTold)]
    public void Notice_OfTrouble_IsAnIncidentOfItsOwn_OrJoinsOne(NoticeKind kind)
    {
        var told = new Told();
        Assert.Equal(new Placement(1, Relation.Leads), told.This(Notice(10, kind)));
        Assert.Equal(new Placement(2, Relation.Leads), told.This(Fault(100, "tray")));
        Assert.Equal(new Placement(2, Relation.Further), told.This(Notice(101, kind)));
    }

    [Fact]
    public void Start_ForgetsWhatAxesHadLatched_AndKeepsTheWindow()
    {
        var told = new Told();
        told.This(Fault(0, "tray"));
        told.This(new StartRecord(TimeSpan.FromSeconds(4), "1", "m", ""));

        Assert.Equal(new Placement(1, Relation.Again, 1), told.This(Fault(6, "tray")));
        Assert.Null(new Told().This(Back(50, "tray")).Incident);
    }

    [Fact]
    public void Recall_IncidentOfAnEarlierRun_GoesOnWhileItsWindowLasts()
    {
        var told = new Told();
        told.Recall((41, new Placement(41, Relation.Leads), Fault(100, "tray", FaultCode.LinkLost)), (43, new Placement(41, Relation.Further), Fault(103, "drum", port: "line-b")));
        told.This(new StartRecord(TimeSpan.FromSeconds(104), "1", "m", ""));

        Assert.Equal(41, told.This(Fault(112.9, "pump", port: "line-c")).Incident);
        Assert.Equal(46, told.This(Fault(123, "drum", port: "line-b")).Incident);
    }

    [Fact]
    public void Storm_OfFaults_StaysOneIncidentAndBounded()
    {
        var told = new Told();
        for (var i = 0; i < 20_000; i++)
        {
            Assert.Equal(1, told.This(Fault(i * 0.001, $"axis{i % 64}", FaultCode.OverCurrent)).Incident);
        }

        for (var i = 0; i < 100; i++)
        {
            told.This(Fault(1_000 + (i * 11), $"lone{i}", FaultCode.OverCurrent));
        }
    }

    /// <summary>An alarm of the machine file for which somebody is called is an incident of its own, or joins the one under way.</summary>
    [Theory]
    [InlineData(FaultPriority.High, AlarmChange.Raised, true)]
    [InlineData(FaultPriority.Medium, AlarmChange.Raised, true)]
    [InlineData(FaultPriority.Low, AlarmChange.Raised, false)]
    [InlineData(FaultPriority.High, AlarmChange.Cleared, false)]
    [InlineData(FaultPriority.High, AlarmChange.Acknowledged, false)]
    public void OwnAlarm_ThatCalls_LeadsOrJoins(FaultPriority priority, AlarmChange change, bool calls)
    {
        AlarmRecord Alarm(double atS) => new(TimeSpan.FromSeconds(atS), 1000, AlarmSourceKind.Machine, "", change) { Priority = priority };

        var alone = new Told();
        Assert.Equal(calls ? new Placement(1, Relation.Leads) : default, alone.This(Alarm(10)));

        var told = new Told();
        told.This(Fault(10, "tray"));
        Assert.Equal(new Placement(1, calls ? Relation.Further : Relation.None), told.This(Alarm(19)));

        // It keeps the incident open like a fault.
        Assert.Equal(calls ? 1 : 3, told.This(Fault(28, "drum")).Incident);
    }

    [Fact]
    public void OwnAlarm_OfTheCatalogue_IsNoCall() =>
        Assert.Equal(default, new Told().This(new AlarmRecord(TimeSpan.FromSeconds(10), 201, AlarmSourceKind.Axis, "tray", AlarmChange.Raised) { Priority = FaultPriority.High }));
}

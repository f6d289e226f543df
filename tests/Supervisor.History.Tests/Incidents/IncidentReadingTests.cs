using Supervisor.History.Entries;
using Supervisor.History.Incidents;
using Supervisor.History.Reading;
using Supervisor.Records.Alarms;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using static Supervisor.History.Tests.Incidents.Told;

namespace Supervisor.History.Tests.Incidents;

/// <summary>Incidents as a reader finds them in the file.</summary>
public sealed class IncidentReadingTests : IDisposable
{
    private readonly HistoryFixture _fixture = new();

    public void Dispose() => _fixture.Dispose();

    [Fact]
    public async Task Incidents_ListedNewestFirst_SayWhatLedAndHowLongItTook()
    {
        using var store = Open();
        await Keep(store, Fault(10, "dibber"), Fault(10.2, "gantry", port: "line-b"), Fault(14, "tray", FaultCode.Encoder, port: "line-b"),
            Back(100, "dibber", ReturnStep.Cleared), Back(101, "gantry", ReturnStep.Cleared), Back(110, "dibber"), Back(111, "gantry"), Back(130, "tray"),
            Fault(500, "drum"), Back(510, "drum", ReturnStep.Cleared));

        var incidents = _fixture.Reader.Incidents(new HistoryFilter()).Incidents;

        Assert.Equal([9, 1], incidents.Select(incident => incident.Number));
        Assert.Equal((IncidentState.Cleared, null), (incidents[0].State, incidents[0].BackAfter));
        var first = incidents[1];
        Assert.Equal((1L, 3L, 1L), (first.Lead.Sequence, first.Faults, first.Consequences));
        Assert.Equal(["dibber", "gantry", "tray"], first.Axes);
        Assert.Equal((IncidentState.Back, TimeSpan.FromSeconds(120)), (first.State, first.BackAfter));
        Assert.Equal(3, first.Gravest!.Sequence);
    }

    [Fact]
    public async Task Incident_Whole_HasWhatWasBeforeAndWhatFollowed()
    {
        using var store = Open();
        await Keep(store, Command(1, "mode production", null), Command(200, "enable dibber", "dibber"), Command(450, "enable drum", "drum"), Trip(500),
            Fault(500.3, "dibber", FaultCode.UnderVoltage, consequenceOf: "emergency stop"), Stop(500.1, "dibber"), Back(600, "dibber"), Command(700, "move drum 5 deg", "drum"));

        var story = _fixture.Reader.Incident(5)!;

        Assert.Equal(4, story.Summary.Lead.Sequence);
        Assert.Equal([3, 4], story.Before.Select(record => record.Sequence));
        Assert.Equal([5, 6, 7], story.Records.Select(record => record.Sequence));
        Assert.Equal([Relation.HardwareStop, Relation.SameAxis, Relation.None], story.Records.Select(record => record.Placement.Relation));
        Assert.Equal(0, story.LeftOut);
        Assert.Null(_fixture.Reader.Incident(6));
        Assert.Null(_fixture.Reader.Incident(99));
    }

    /// <summary>Nothing else may belong to it: whoever is told of incidents must find it all the same, with its texts, also when the machine file has changed.</summary>
    [Fact]
    public async Task Incident_LedByAnOwnAlarm_IsFoundWithItsTexts()
    {
        using var store = Open();
        await Keep(store, Command(1, "mode production", null), new AlarmRecord(TimeSpan.FromSeconds(100), 1001, AlarmSourceKind.Machine, "", AlarmChange.Raised)
        {
            Priority = FaultPriority.Medium, Text = "hopper low. Cause: c What to do: r",
        });

        var incident = Assert.Single(_fixture.Reader.Incidents(new HistoryFilter()).Incidents);
        Assert.Equal((2L, 2L, 0L, IncidentState.NoAxis), (incident.Number, incident.Lead.Sequence, incident.Faults, incident.State));
        var lead = Assert.IsType<AlarmRecord>(incident.Lead.Record);
        Assert.Equal((1001, FaultPriority.Medium, "hopper low. Cause: c What to do: r"), (lead.Number, lead.Priority, lead.Text));
        Assert.Single(_fixture.Reader.Incident(2)!.Records);
    }

    [Fact]
    public async Task Incident_LeadTakenLater_IsTheOneThatWasSeenEarlier()
    {
        using var store = Open();
        await Keep(store, Fault(10.02, "dibber"), Fault(10, "tray", port: "line-b"));

        Assert.Equal(2, Assert.Single(_fixture.Reader.Incidents(new HistoryFilter()).Incidents).Lead.Sequence);
    }

    [Fact]
    public async Task Incident_LedByThePortThatWasLost_HasNoFaultOfItsOwn()
    {
        using var store = Open();
        await Keep(store, Fault(10, "dibber", FaultCode.LinkLost), Fault(10.1, "tray", FaultCode.LinkLost), new LinkRecord(TimeSpan.FromSeconds(10.2), "line-a", null, false, ""));

        var incident = Assert.Single(_fixture.Reader.Incidents(new HistoryFilter()).Incidents);
        Assert.Equal((3L, 2L, 2L), (incident.Lead.Sequence, incident.Faults, incident.Consequences));
    }

    [Fact]
    public async Task Restart_BeforeTheAxesAreBack_IsToldAsTheEnd_AndTheWindowGoesOn()
    {
        using (var store = Open())
        {
            await Keep(store, Fault(10, "dibber"), Fault(11, "tray", port: "line-b"), Back(12, "tray"));
        }

        using (var store = Open())
        {
            await Keep(store, new StartRecord(TimeSpan.FromSeconds(15), "1", "m", ""), Fault(18, "drum", port: "line-c"), Back(19, "drum"));
        }

        var incident = Assert.Single(_fixture.Reader.Incidents(new HistoryFilter()).Incidents);
        Assert.Equal((1L, 3L, IncidentState.Restarted, null), (incident.Number, incident.Faults, incident.State, incident.BackAfter));
        Assert.Equal(Relation.Further, _fixture.All()[1].Placement.Relation);
    }

    [Fact]
    public async Task Restart_OfTheBoard_BeginsAnew()
    {
        using (var store = Open())
        {
            await Keep(store, Fault(10, "dibber"));
        }

        using (var store = Open(boot: "boot-2"))
        {
            await Keep(store, Fault(11, "dibber"));
        }

        Assert.Equal([2, 1], _fixture.Reader.Incidents(new HistoryFilter()).Incidents.Select(incident => incident.Number));
    }

    [Fact]
    public async Task Incidents_ByAxisCodeClassTimeAndPage_AreFound()
    {
        using var store = Open();
        for (var i = 0; i < 7; i++)
        {
            await Keep(store, Fault(i * 100, i % 2 == 0 ? "dibber" : "tray", i == 3 ? FaultCode.Encoder : FaultCode.LinkLost));
        }

        AssertFinds(new HistoryFilter { Axis = "dibber" }, 7, 5, 3, 1);
        AssertFinds(new HistoryFilter { Code = FaultCode.Encoder }, 4);
        AssertFinds(new HistoryFilter { Class = FaultClass.Link, Axis = "tray" }, 6, 2);
        AssertFinds(new HistoryFilter { Text = "encoder" }, 4);
        var page = _fixture.Reader.Incidents(new HistoryFilter { Limit = 3 });
        Assert.Equal((3, 5L), (page.Incidents.Count, page.NextBefore));
        await Keep(store, Fault(9_000, "tray"));
        AssertFinds(new HistoryFilter { Limit = 3, BeforeSequence = page.NextBefore }, 4, 3, 2);
        AssertFinds(new HistoryFilter { BeforeSequence = 2 }, 1);
    }

    [Fact]
    public async Task Incident_InAStorm_IsBoundedAndSaysWhatIsLeftOut()
    {
        using var store = Open();
        for (var i = 0; i < 2_100; i++)
        {
            store.Append(Fault(i * 0.001, "dibber", FaultCode.OverCurrent, state: AxisState.Faulted));
        }

        await store.FlushAsync();

        var story = _fixture.Reader.Incident(1)!;
        Assert.Equal((2_100L, IncidentStory.MaximumRecords, 100L), (story.Summary.Faults, story.Records.Count, story.LeftOut));
    }

    private HistoryStore Open(string boot = "boot-1") => _fixture.Open(options => options with { BootId = boot, Incidents = Rules() });

    private static async Task Keep(HistoryStore store, params HistoryRecord[] records)
    {
        foreach (var record in records)
        {
            store.Append(record);
        }

        await store.FlushAsync();
    }

    private void AssertFinds(HistoryFilter filter, params long[] numbers) =>
        Assert.Equal(numbers, _fixture.Reader.Incidents(filter).Incidents.Select(incident => incident.Number));
}

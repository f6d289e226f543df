using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Verbs;

namespace Supervisor.Daemon.Tests.Verbs;

/// <summary>What <c>check</c> says of zones.</summary>
public sealed class ZoneSummaryTests
{
    private static readonly MachineDefinition Machine = SmallMachine.With("gantry", "dibber");

    [Fact]
    public void Line_EachKind_SaysWhatItKeepsApart()
    {
        Assert.Equal(
            "zone soil: gantry moves only while dibber is between 0 and 20 mm",
            ZoneSummary.Line(Machine, new MovesOnlyWhileZone("soil", 0, null, 1, new ZoneRange(0, 20))));
        Assert.Equal(
            "zone soil: gantry moves between 30 and 400 mm only while dibber is between 0 and 20 mm",
            ZoneSummary.Line(Machine, new MovesOnlyWhileZone("soil", 0, new ZoneRange(30, 400), 1, new ZoneRange(0, 20))));
        Assert.Equal(
            "zone hopper: never both gantry between 300 and 400 mm and dibber between 50 and 180 mm",
            ZoneSummary.Line(Machine, new NeverBothZone("hopper", 0, new ZoneRange(300, 400), 1, new ZoneRange(50, 180))));
        Assert.Equal(
            "zone rail: dibber stays 80 mm above gantry; its 0 lies at 1000 mm, and it counts the other way",
            ZoneSummary.Line(Machine, new DistanceZone("rail", 0, 1, 80, 1000, -1)));
    }

    [Fact]
    public void ToJson_NamesKindAndAxes()
    {
        var json = ZoneSummary.ToJson(Machine, new DistanceZone("rail", 0, 1, 80, 1000, -1));

        Assert.Equal(("rail", "distance"), (json.Name, json.Kind));
        Assert.Equal(["gantry", "dibber"], json.Axes);
    }
}

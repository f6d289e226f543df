using Supervisor.Configuration.Machines;

namespace Supervisor.Daemon.Verbs;

/// <summary>The zones of a machine file, as <c>check</c> tells them.</summary>
internal static class ZoneSummary
{
    public static string Line(MachineDefinition machine, ZoneDefinition zone)
    {
        var (first, second) = (machine.Axes[zone.First], machine.Axes[zone.Second]);
        return $"zone {zone.Name}: " + zone switch
        {
            MovesOnlyWhileZone only =>
                $"{first.Name} moves{(only.Where is { } where ? $" between {Range(first, where)}" : "")} only while {second.Name} is between {Range(second, only.While)}",
            NeverBothZone both => $"never both {first.Name} between {Range(first, both.FirstRange)} and {second.Name} between {Range(second, both.SecondRange)}",
            DistanceZone distance =>
                $"{second.Name} stays {Text.Of(distance.Distance)} {first.Unit} above {first.Name}; its 0 lies at {Text.Of(distance.Offset)} {first.Unit}, and it counts {(distance.Scale < 0 ? "the other way" : "the same way")}",
            _ => "",
        };
    }

    public static CheckedZoneJson ToJson(MachineDefinition machine, ZoneDefinition zone) => new(
        zone.Name,
        zone switch { MovesOnlyWhileZone => "movesOnlyWhile", DistanceZone => "distance", _ => "neverBoth" },
        [machine.Axes[zone.First].Name, machine.Axes[zone.Second].Name]);

    private static string Range(AxisDefinition axis, ZoneRange range) => $"{Text.Of(range.Lower)} and {Text.Of(range.Upper)} {axis.Unit}";
}

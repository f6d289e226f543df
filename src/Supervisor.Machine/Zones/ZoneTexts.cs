using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Runtime.Zones;

namespace Supervisor.Machine.Zones;

/// <summary>Zones in words: what stands in the way of an axis, and what to move where.</summary>
internal sealed class ZoneTexts(MachineDefinition machine)
{
    /// <summary>Whether a person may vouch for a search: only where no place of the other axis, as far as it is known, would make it provable.</summary>
    public static bool MayVouch(Zone zone, int axis, in Extent other) => !other.IsKnown || zone.Definition is DistanceZone;

    public string Together(Zone zone, int axis) =>
        $"{Head(zone, axis)} and {Other(zone, axis)} would move at the same time where they can meet: give the two motions one after the other";

    public string Silent(Zone zone, int axis) =>
        $"{Head(zone, axis)} can't move: {Other(zone, axis)} does not answer, so it may be anywhere: see to its drive first, or in maintenance mode look where it is and jog";

    public string OtherMoves(Zone zone, int axis) => zone.Definition is MovesOnlyWhileZone only && axis == only.Second
        ? $"{Head(zone, axis)} must stay between {Range(only.Second, only.While)} while {Name(only.First)} moves: wait until {Name(only.First)} stands"
        : $"{Head(zone, axis)} would come where {Other(zone, axis)}, which moves, may come too: wait until {Other(zone, axis)} stands";

    public string OtherIsLost(Zone zone, int axis) =>
        $"{Head(zone, axis)} can't move: {Other(zone, axis)} is not referenced, so it may be anywhere: home {Other(zone, axis)} first, or in maintenance mode look where it is and jog";

    public string BothInside(Zone zone, int axis) =>
        $"{Head(zone, axis)} and {Other(zone, axis)} are both inside where only one may be: look how they stand, then jog one of them out";

    public string Vouch(Zone zone, int axis, bool otherIsKnown) => otherIsKnown
        ? $"{Head(zone, axis)} looks for its zero without knowing its place, and may meet {Other(zone, axis)} on the way: look that it can't, then confirm (home --confirm)"
        : $"{Head(zone, axis)} looks for its zero, and {Other(zone, axis)} is not referenced, so the two may meet: home {Other(zone, axis)} first, or look that it is out of the way and confirm (home --confirm)";

    /// <summary>Where the other axis stands, and what to move where.</summary>
    public string Remedy(Zone zone, int axis, in Extent own, in Extent other) => zone.Definition switch
    {
        MovesOnlyWhileZone only =>
            $"{Head(zone, axis)} moves{(only.Where is { } where ? $" between {Range(axis, where)}" : "")} only while {Name(only.Second)} is between {Range(only.Second, only.While)}, and it is at {At(only.Second, other)}: move {Name(only.Second)} there first",
        NeverBothZone both =>
            $"{Head(zone, axis)} would come between {Range(axis, axis == both.First ? both.FirstRange : both.SecondRange)} while {Other(zone, axis)} is at {At(zone.Other(axis), other)}: move {Other(zone, axis)} out of {Span(zone.Other(axis), axis == both.First ? both.SecondRange : both.FirstRange)} first",
        DistanceZone distance => Distance(zone, distance, axis, own, other),
        _ => throw new InvalidOperationException($"Zone {zone.Definition.Name} is of an unknown kind"),
    };

    /// <summary>A zone for whoever looks at the machine's status.</summary>
    public ZoneStatus Status(Zone zone, in Extent first, in Extent second)
    {
        var definition = zone.Definition;
        var (a, b) = (Name(definition.First), Name(definition.Second));
        var lost = (FirstCounts: definition is not MovesOnlyWhileZone && !first.IsKnown, SecondCounts: !second.IsKnown);
        if (lost.FirstCounts || lost.SecondCounts)
        {
            List<string> names = [.. lost.FirstCounts ? [a] : Array.Empty<string>(), .. lost.SecondCounts ? [b] : Array.Empty<string>()];
            return new ZoneStatus(definition.Name, false, names, $"where {Sentences.Names(names)} {(names.Count == 1 ? "is" : "are")} is not known: see that {(names.Count == 1 ? "it answers" : "they answer")} and home {Sentences.Names(names)}");
        }

        return definition switch
        {
            MovesOnlyWhileZone only when !Inside(zone, only.Second, second) =>
                Held(zone, [b], $"{a} moves only while {b} is between {Range(only.Second, only.While)}: move {b} there before {a}"),
            MovesOnlyWhileZone only when first.Moves => Held(zone, [a], $"keep {b} between {Range(only.Second, only.While)} until {a} stands"),
            NeverBothZone both => (Inside(zone, both.First, first), Inside(zone, both.Second, second)) switch
            {
                (true, true) => Held(zone, [a, b], $"{a} and {b} are both inside: look how they stand, then jog one of them out"),
                (true, false) => Held(zone, [a], $"keep {b} out of {Span(both.Second, both.SecondRange)} until {a} stands outside of {Span(both.First, both.FirstRange)}"),
                (false, true) => Held(zone, [b], $"keep {a} out of {Span(both.First, both.FirstRange)} until {b} stands outside of {Span(both.Second, both.SecondRange)}"),
                _ => new ZoneStatus(definition.Name, true, [], ""),
            },
            DistanceZone distance when !zone.IsClear(first with { Moves = true }, second, Window(zone.First), Window(zone.Second)) =>
                Held(zone, [a, b], $"{a} and {b} are nearer than {Length(distance.First, distance.Distance)}: move {a} down or {b} {(distance.Scale > 0 ? "up" : "down")}"),
            _ => new ZoneStatus(definition.Name, true, [], ""),
        };
    }

    private static ZoneStatus Held(Zone zone, IReadOnlyList<string> by, string whatToDo) => new(zone.Definition.Name, false, by, whatToDo);

    private bool Inside(Zone zone, int axis, in Extent extent) => zone.Definition is MovesOnlyWhileZone
        ? zone.IsClear(Extent.Anywhere(moves: true), extent, 0, Window(axis))
        : zone.IsInOwnRange(axis, extent, Window(axis));

    private string Distance(Zone zone, DistanceZone distance, int axis, in Extent own, in Extent other)
    {
        var direction = zone.LeadsAway(axis, -1) ? 1 : -1;
        var from = direction > 0 ? own.Upper : own.Lower;
        var border = from + (direction * zone.ClearWay(axis, from, direction, other));
        var otherWay = zone.LeadsAway(zone.Other(axis), 1) ? "up" : "down";
        return $"{Head(zone, axis)} would come nearer than {Length(distance.First, distance.Distance)} to {Other(zone, axis)}, which is at {At(zone.Other(axis), other)}: {(direction > 0 ? "go no farther up than" : "go no farther down than")} {Length(axis, border)}, or move {Other(zone, axis)} {otherWay} first";
    }

    private double Window(int axis) => machine.Axes[axis].InPosition.Window;

    private string Head(Zone zone, int axis) => $"zone {zone.Definition.Name}: {Name(axis)}";

    private string Other(Zone zone, int axis) => Name(zone.Other(axis));

    private string Name(int axis) => machine.Axes[axis].Name;

    private string Length(int axis, double value) => Sentences.Length(machine.Axes[axis], value);

    private string Range(int axis, ZoneRange range) => $"{Sentences.Number(range.Lower)} and {Length(axis, range.Upper)}";

    private string Span(int axis, ZoneRange range) => $"{Sentences.Number(range.Lower)} to {Length(axis, range.Upper)}";

    private string At(int axis, in Extent extent)
    {
        var position = (extent.Lower + extent.Upper) / 2;
        return Length(axis, machine.Axes[axis].EndlessPeriod is { } period ? position - (Math.Floor(position / period) * period) : position);
    }
}

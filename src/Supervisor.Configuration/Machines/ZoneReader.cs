using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads zones. They name axes, so they are read once all of them are known.</summary>
internal sealed class ZoneReader(FileErrors errors, IReadOnlyList<AxisDraft> axes)
{
    private const string Kinds = "says what it keeps apart: either an axis with movesOnlyWhile, or a pair of axes with a distance or with a range each";

    private readonly UsedOnce<string> names = new(errors);
    private readonly ZoneAxisReader sides = new(errors, axes);

    /// <summary>The zone; null when it could not be read.</summary>
    public ZoneDefinition? Read(Node node)
    {
        if (ObjectReader.Open(node, MachineShapes.Zone, errors) is not { } zone)
        {
            return null;
        }

        var name = Names.Read(zone.Require("name", "name of the zone"), ".", errors);
        if (name is not null)
        {
            names.Note(name, zone.Find("name")!, line => $"zone {Show.Quoted(name)} appears twice; first in line {line}");
        }

        if ((zone.Find("axis") is null) == (zone.Find("pair") is null))
        {
            errors.Add(zone.Node, Kinds);
            return null;
        }

        return zone.Find("axis") is not null ? ReadMovesOnlyWhile(zone, name ?? "") : ReadPair(zone, name ?? "");
    }

    private MovesOnlyWhileZone? ReadMovesOnlyWhile(ObjectReader zone, string name)
    {
        Forbid(zone, "is for a pair; take it out", "distance", "offset", "inverted", "scale");
        var first = sides.Axis(zone);
        ZoneRange? where = zone.Find("between") is null ? null : sides.Range(zone, first);
        if (zone.Object("movesOnlyWhile", MachineShapes.AxisRange, "which other axis must be where while this one moves") is not { } other)
        {
            return null;
        }

        var second = sides.Axis(other);
        var range = sides.Range(other, second);
        RefuseSame(other, first, second);
        if (second >= 0 && axes[second].Definition?.Limits is { } limits && range.Lower <= limits.LowerPosition && range.Upper >= limits.UpperPosition)
        {
            other.Refuse("between", "is all that its limits permit: the zone would forbid nothing; narrow it");
        }

        return new MovesOnlyWhileZone(name, first, where, second, range);
    }

    private ZoneDefinition? ReadPair(ObjectReader zone, string name)
    {
        Forbid(zone, "is for a zone of one axis; in a pair each axis has its own range", "between", "movesOnlyWhile");
        var items = zone.Items("pair", "the two axes");
        if (items.Count != 2)
        {
            if (zone.Find("pair") is { Kind: NodeKind.Array } list)
            {
                errors.Add(list, $"two axes are expected, found {items.Count}");
            }

            return null;
        }

        return zone.Find("distance") is not null || items.All(item => item.Kind == NodeKind.Text)
            ? new DistanceZoneReader(errors, axes, sides).Read(zone, items, name)
            : ReadNeverBoth(zone, items, name);
    }

    private NeverBothZone? ReadNeverBoth(ObjectReader zone, IReadOnlyList<Node> items, string name)
    {
        Forbid(zone, "is for a pair with a distance; take it out, or give a distance", "offset", "inverted", "scale");
        var first = ObjectReader.Open(items[0], MachineShapes.AxisRange, errors);
        var second = ObjectReader.Open(items[1], MachineShapes.AxisRange, errors);
        var (a, b) = (first is null ? -1 : sides.Axis(first), second is null ? -1 : sides.Axis(second));
        if (second is not null)
        {
            RefuseSame(second, a, b);
        }

        return first is null || second is null ? null : new NeverBothZone(name, a, sides.Range(first, a), b, sides.Range(second, b));
    }

    private static void RefuseSame(ObjectReader at, int first, int second)
    {
        if (first >= 0 && first == second)
        {
            at.Refuse("axis", "a zone is about two axes; name another one");
        }
    }

    private static void Forbid(ObjectReader zone, string why, params ReadOnlySpan<string> members)
    {
        foreach (var member in members)
        {
            if (zone.Find(member) is not null)
            {
                zone.Refuse(member, why);
            }
        }
    }
}

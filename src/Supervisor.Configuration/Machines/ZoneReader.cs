using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads zones. They name axes, so they are read once all of them are known.</summary>
internal sealed class ZoneReader(FileErrors errors, IReadOnlyList<AxisDraft> axes)
{
    private const string Kinds = "says what it keeps apart: either an axis with movesOnlyWhile, or a pair of axes with a distance or with a range each";

    private readonly UsedOnce<string> names = new(errors);
    private readonly ZoneAxisReader sides = new(errors, axes);
    private readonly List<MovesOnlyWhileZone> conditions = [];

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

        ZoneDefinition? read = zone.Find("axis") is not null ? ReadMovesOnlyWhile(zone, name ?? "") : ReadPair(zone, name ?? "");
        if (read is not null && read.First >= 0 && read.Second >= 0 && read.First != read.Second)
        {
            CheckHoming(zone, read);
            CheckAgreement(zone, read as MovesOnlyWhileZone);
        }

        return read;
    }

    /// <summary>What is homed at the same time moves at the same time, each without knowing its place.</summary>
    private void CheckHoming(ObjectReader zone, ZoneDefinition read)
    {
        if (axes[read.First].Definition?.Homing is { } first && axes[read.Second].Definition?.Homing is { } second && first.Order == second.Order)
        {
            errors.Add(zone.Node, $"{Show.Quoted(axes[read.First].Name!)} and {Show.Quoted(axes[read.Second].Name!)} are both homed with order {first.Order}, so at the same time, which this zone never permits: give one of them a later order");
        }
    }

    /// <summary>Two conditions on one pair of axes that never hold together would never let the first one move.</summary>
    private void CheckAgreement(ObjectReader zone, MovesOnlyWhileZone? read)
    {
        if (read is null)
        {
            return;
        }

        var endless = axes[read.Second].Definition?.EndlessPeriod is not null;
        var other = endless ? null : conditions.Find(each => each.First == read.First && each.Second == read.Second
            && (each.Where is not { } there || read.Where is not { } here || (there.Lower < here.Upper && here.Lower < there.Upper))
            && (each.While.Upper < read.While.Lower || read.While.Upper < each.While.Lower));
        if (other is not null)
        {
            errors.Add(zone.Node, $"{Show.Quoted(axes[read.First].Name!)} could never move: zone {Show.Quoted(other.Name)} asks for {Show.Quoted(axes[read.Second].Name!)} elsewhere; make the two ranges overlap");
        }

        conditions.Add(read);
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

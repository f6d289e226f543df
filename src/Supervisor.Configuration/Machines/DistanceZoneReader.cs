using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads a pair of axes that keep a distance on one way.</summary>
internal sealed class DistanceZoneReader(FileErrors errors, IReadOnlyList<AxisDraft> axes, ZoneAxisReader sides)
{
    public DistanceZone Read(ObjectReader zone, IReadOnlyList<Node> items, string name)
    {
        var (first, second) = (Side(items[0]), Side(items[1]));
        if (first >= 0 && first == second)
        {
            errors.Add(items[1], "a zone is about two axes; name another one");
        }

        var unit = (first < 0 ? null : axes[first].Definition?.Unit) ?? "";
        var distance = zone.Number("distance", NumberRange.Above0(unit), $"the least distance between the two, {(unit.Length == 0 ? "unit of the first" : unit)}");
        var offset = zone.Require("offset", "where the zero of the second axis lies on the scale of the first; 0 where both count from one zero") is { } node
            ? Values.Number(node, NumberRange.Any(unit), errors)
            : double.NaN;
        var scale = ReadScale(zone, first, second) * (zone.Flag("inverted", fallback: false) ? -1 : 1);
        var read = new DistanceZone(name, first, second, distance, offset, scale);
        CheckWays(zone, read, unit);
        return read;
    }

    private int Side(Node item)
    {
        if (item.Kind == NodeKind.Object)
        {
            errors.Add(item, "a pair with a distance names its axes only, without ranges; take the distance out, or name the axis as a text");
            return -1;
        }

        var axis = sides.Axis(item);
        sides.RequirePlace(item, axis);
        if (axis >= 0 && axes[axis].Definition?.EndlessPeriod is not null)
        {
            errors.Add(item, $"{Show.Quoted(axes[axis].Name!)} is endless: it comes round again, so there is no distance to it; give a range of each axis instead");
            return -1;
        }

        return axis;
    }

    private double ReadScale(ObjectReader zone, int first, int second)
    {
        var (a, b) = (first < 0 ? null : axes[first].Definition?.Unit, second < 0 ? null : axes[second].Definition?.Unit);
        if (a is not null && b is not null && a != b && zone.Find("scale") is null)
        {
            zone.Require("scale", $"how many {a} of the first axis one {b} of the second is");
            return double.NaN;
        }

        return zone.Number("scale", NumberRange.Above0(""), fallback: 1);
    }

    /// <summary>A wrong offset or sense shows in that the two could never be apart, or never meet.</summary>
    private void CheckWays(ObjectReader zone, DistanceZone read, string unit)
    {
        if (read.First < 0 || read.Second < 0 || axes[read.First].Definition?.Limits is not { LowerPosition: { } lower, UpperPosition: { } upper }
            || axes[read.Second].Definition?.Limits is not { LowerPosition: { } from, UpperPosition: { } to })
        {
            return;
        }

        var (low, high) = (Math.Min(read.SecondAt(from), read.SecondAt(to)), Math.Max(read.SecondAt(from), read.SecondAt(to)));
        if (high - lower < read.Distance)
        {
            zone.Refuse("offset", $"the second axis lies at {Show.Number(low)} to {Show.Number(high)} {unit} on the scale of the first, which is never {Show.Number(read.Distance)} {unit} above it; name the pair the other way round, or look at offset and inverted");
        }
        else if (low - upper >= read.Distance)
        {
            zone.Refuse("offset", $"the second axis lies at {Show.Number(low)} to {Show.Number(high)} {unit} on the scale of the first, which it never comes near; look at offset and inverted");
        }
    }
}

using Supervisor.Configuration.Machines;

namespace Supervisor.Runtime.Zones;

/// <summary>One zone of the machine: judges where its two axes are and may get to. Immutable; any thread.</summary>
public sealed class Zone
{
    private readonly double _firstPeriod;
    private readonly double _secondPeriod;

    internal Zone(MachineDefinition machine, int index)
    {
        Index = index;
        Definition = machine.Zones[index];
        _firstPeriod = machine.Axes[First].EndlessPeriod ?? 0;
        _secondPeriod = machine.Axes[Second].EndlessPeriod ?? 0;
    }

    /// <summary>Index in the machine file.</summary>
    public int Index { get; }

    /// <summary>The machine file's entry.</summary>
    public ZoneDefinition Definition { get; }

    /// <summary>Index of the first axis.</summary>
    public int First => Definition.First;

    /// <summary>Index of the second axis.</summary>
    public int Second => Definition.Second;

    /// <summary>The axis of the zone that is not <paramref name="axis"/>.</summary>
    public int Other(int axis) => axis == First ? Second : First;

    /// <summary>True when nothing that the two may do leads to what the zone forbids. Two axes that stand are left alone.</summary>
    /// <param name="first">Where the first axis may be.</param>
    /// <param name="second">Where the second axis may be.</param>
    /// <param name="firstTolerance">By what the first may be off and still be where it says, its unit.</param>
    /// <param name="secondTolerance">The same of the second.</param>
    public bool IsClear(in Extent first, in Extent second, double firstTolerance, double secondTolerance)
    {
        if (!first.Moves && !second.Moves)
        {
            return true;
        }

        return Definition switch
        {
            DistanceZone zone => Least(zone, second) - first.Upper >= zone.Distance - firstTolerance - (secondTolerance * Math.Abs(zone.Scale)),
            NeverBothZone zone => !(Turns.Meets(first, zone.FirstRange, _firstPeriod, firstTolerance)
                && Turns.Meets(second, zone.SecondRange, _secondPeriod, secondTolerance)),
            MovesOnlyWhileZone zone => !first.Moves
                || (zone.Where is { } where && !Turns.Meets(first, where, _firstPeriod, firstTolerance))
                || Turns.IsInside(second, zone.While, _secondPeriod, secondTolerance),
            _ => false,
        };
    }

    /// <summary>Whether a way of one axis only leads away from the other one, wherever that stands. Only a distance has such ways.</summary>
    public bool LeadsAway(int axis, int direction) => Definition is DistanceZone zone && direction == AwayOf(zone, axis);

    /// <summary>Whether an axis of a pair with ranges may be inside its own by more than a tolerance; false for other zones.</summary>
    public bool IsInOwnRange(int axis, in Extent extent, double tolerance) => Definition is NeverBothZone zone && (axis == First
        ? Turns.Meets(extent, zone.FirstRange, _firstPeriod, tolerance)
        : Turns.Meets(extent, zone.SecondRange, _secondPeriod, tolerance));

    /// <summary>True where both axes stand inside their ranges already, as after a push by hand: no way out of there is better than another.</summary>
    public bool AreBothInside(in Extent first, in Extent second) =>
        first.IsKnown && second.IsKnown && IsInOwnRange(First, first, 0) && IsInOwnRange(Second, second, 0);

    /// <summary>
    /// How far one axis may go in a direction while the other is where it may be: the way from <paramref name="from"/>, unit; infinite where
    /// the zone sets no end, 0 or less where it may not go at all.
    /// </summary>
    public double ClearWay(int axis, double from, int direction, in Extent other)
    {
        var isFirst = axis == First;
        switch (Definition)
        {
            case DistanceZone zone when direction != AwayOf(zone, axis):
                var border = isFirst ? Least(zone, other) - zone.Distance : zone.SecondPosition(other.Upper + zone.Distance);
                return (border - from) * direction;
            case NeverBothZone zone when isFirst ? Turns.Meets(other, zone.SecondRange, _secondPeriod, 0) : Turns.Meets(other, zone.FirstRange, _firstPeriod, 0):
                return WayInto(isFirst ? zone.FirstRange : zone.SecondRange, from, direction, isFirst ? _firstPeriod : _secondPeriod);
            case MovesOnlyWhileZone zone when isFirst && !Turns.IsInside(other, zone.While, _secondPeriod, 0):
                return zone.Where is { } where ? WayInto(where, from, direction, _firstPeriod) : 0;
            case MovesOnlyWhileZone zone when !isFirst && other.Moves && (zone.Where is null || Turns.Meets(other, zone.Where.Value, _firstPeriod, 0)):
                return Turns.IsInside(Extent.At(from), zone.While, _secondPeriod, 0)
                    ? Turns.WayTo(direction > 0 ? zone.While.Upper : zone.While.Lower, from, direction, _secondPeriod)
                    : 0;
            default:
                return double.PositiveInfinity;
        }
    }

    /// <summary>The lowest place of the second axis on the first one's scale.</summary>
    private static double Least(DistanceZone zone, in Extent second) => zone.SecondAt(zone.Scale > 0 ? second.Lower : second.Upper);

    /// <summary>The first axis stays below the second: it leaves downwards, the second upwards on the first one's scale.</summary>
    private int AwayOf(DistanceZone zone, int axis) => axis == First ? -1 : Math.Sign(zone.Scale);

    /// <summary>The way to where a range begins; 0 inside it.</summary>
    private static double WayInto(ZoneRange range, double from, int direction, double period)
    {
        if (Turns.Meets(Extent.At(from), range, period, 0))
        {
            return 0;
        }

        var way = Turns.WayTo(direction > 0 ? range.Lower : range.Upper, from, direction, period);
        return way < 0 ? double.PositiveInfinity : way;
    }
}

using Supervisor.Configuration.Machines;

namespace Supervisor.Runtime.Zones;

/// <summary>Ranges of an axis against where it may be, on an endless axis in every turn.</summary>
internal static class Turns
{
    /// <summary>Whether an axis may be inside a range by more than a tolerance.</summary>
    /// <param name="reach">Where it may be.</param>
    /// <param name="range">The range.</param>
    /// <param name="period">Length of a turn; 0 for an axis with ends.</param>
    /// <param name="tolerance">How far inside still counts as outside: an axis that stands at the border.</param>
    public static bool Meets(in Extent reach, ZoneRange range, double period, double tolerance)
    {
        // A narrow range must not vanish in the tolerance.
        var slack = Math.Min(tolerance, (range.Upper - range.Lower) / 4);
        var (lower, upper) = (range.Lower + slack, range.Upper - slack);
        if (period == 0 || !(reach.Upper - reach.Lower < period))
        {
            return period != 0 || (reach.Upper > lower && reach.Lower < upper);
        }

        // The first turn in which its upper end is not below the range.
        var shift = Math.Ceiling((lower - reach.Upper) / period) * period;
        return reach.Upper + shift > lower ? reach.Lower + shift < upper : reach.Lower + shift + period < upper;
    }

    /// <summary>Whether an axis is inside a range wherever it may be, give or take a tolerance.</summary>
    public static bool IsInside(in Extent reach, ZoneRange range, double period, double tolerance)
    {
        var (lower, upper) = (range.Lower - tolerance, range.Upper + tolerance);
        if (period == 0)
        {
            return reach.Lower >= lower && reach.Upper <= upper;
        }

        if (!(reach.Upper - reach.Lower < period))
        {
            return false;
        }

        var shift = Math.Ceiling((lower - reach.Lower) / period) * period;
        return reach.Upper + shift <= upper;
    }

    /// <summary>How far it is from a position to a border seen along a direction; on an endless axis always ahead, otherwise below 0 when it lies behind.</summary>
    public static double WayTo(double border, double from, int direction, double period)
    {
        var way = (border - from) * direction;
        return period == 0 ? way : way - (Math.Floor(way / period) * period);
    }
}

using Supervisor.Configuration.Machines;

namespace Supervisor.Runtime.Axes;

/// <summary>Between an axis's unit and its drive's counts.</summary>
public readonly struct AxisScale
{
    private readonly double _countsPerUnit;

    public AxisScale(AxisDefinition axis)
    {
        ArgumentNullException.ThrowIfNull(axis);
        _countsPerUnit = axis.Inverted ? -axis.CountsPerUnit : axis.CountsPerUnit;
        Period = axis.EndlessPeriod ?? 0;
    }

    /// <summary>Length of one turn in units; 0 for an axis with ends.</summary>
    public double Period { get; }

    /// <summary>Counts to unit, with sign.</summary>
    public double ToUnit(double counts) => counts / _countsPerUnit;

    /// <summary>Unit to counts, with sign.</summary>
    public double ToCounts(double unit) => unit * _countsPerUnit;

    /// <summary>Rates carry no sign: counts/s or counts/s² of a speed or ramp.</summary>
    public double ToCountRate(double unitRate) => Math.Abs(unitRate * _countsPerUnit);

    /// <summary>The position as it is shown: within one period for an endless axis.</summary>
    public double Shown(double position)
    {
        if (Period == 0)
        {
            return position;
        }

        var within = position % Period;
        return within < 0 ? within + Period : within;
    }

    /// <summary>Where to go from <paramref name="from"/> to reach <paramref name="target"/>: on an endless axis by the shortest way.</summary>
    public double Nearest(double from, double target)
    {
        if (Period == 0)
        {
            return target;
        }

        var by = (target - from) % Period;
        by = by > Period / 2 ? by - Period : by < -Period / 2 ? by + Period : by;
        return from + by;
    }

    /// <summary>Where to go from <paramref name="from"/> to reach <paramref name="target"/> of an endless axis in a given direction.</summary>
    /// <param name="from">Where the way begins.</param>
    /// <param name="target">A position; whole turns do not matter.</param>
    /// <param name="direction">1 or -1.</param>
    /// <param name="near">A target not farther back than this counts as here: noise at rest must not become a turn.</param>
    /// <param name="least">A way shorter than this can't be stopped in: it goes once more round.</param>
    public double Toward(double from, double target, int direction, double near, double least)
    {
        var by = (target - from) * direction % Period;
        by = by < 0 ? by + Period : by;
        by = Period - by <= near ? by - Period : by;
        while (by < least)
        {
            by += Period;
        }

        return from + (by * direction);
    }
}

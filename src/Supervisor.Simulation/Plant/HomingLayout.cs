namespace Supervisor.Simulation.Plant;

/// <summary>A switch that homing looks for.</summary>
public enum HomingSwitch
{
    /// <summary>Closed at and below its edge.</summary>
    NegativeLimit = 0,

    /// <summary>Closed at and above its edge.</summary>
    PositiveLimit = 1,

    /// <summary>A home switch that stays closed below its edge.</summary>
    NegativeHome = 2,

    /// <summary>A home switch that stays closed above its edge.</summary>
    PositiveHome = 3,

    /// <summary>A home switch that is closed over a short cam.</summary>
    HomeCam = 4,
}

/// <summary>Where the switches and index marks of one axis are: counts from the machine's fixed mark.</summary>
public sealed record HomingLayout
{
    /// <summary>Edge of the negative limit switch.</summary>
    public double NegativeLimit { get; init; } = double.NegativeInfinity;

    /// <summary>Edge of the positive limit switch.</summary>
    public double PositiveLimit { get; init; } = double.PositiveInfinity;

    /// <summary>Edge of a home switch that stays closed to one side.</summary>
    public double HomeEdge { get; init; }

    /// <summary>Lower edge of the home cam.</summary>
    public double CamStart { get; init; }

    /// <summary>Length of the home cam, counts.</summary>
    public required double CamWidth { get; init; }

    /// <summary>One index mark; the others follow at <see cref="IndexPitch"/>.</summary>
    public double IndexMark { get; init; }

    /// <summary>Distance of index marks, counts.</summary>
    public required double IndexPitch { get; init; }

    /// <summary>Counts of one turn of an endless axis, on which each switch is a cam met once a turn; null for an axis with ends.</summary>
    public double? Period { get; init; }

    /// <summary>Whether a switch is closed at a position.</summary>
    public bool IsClosed(HomingSwitch which, double position)
    {
        if (Period is { } period)
        {
            double start = Cam(which);
            return Modulo(position - start, period) <= CamWidth;
        }

        return which switch
        {
            HomingSwitch.NegativeLimit => position <= NegativeLimit,
            HomingSwitch.PositiveLimit => position >= PositiveLimit,
            HomingSwitch.NegativeHome => position <= HomeEdge,
            HomingSwitch.PositiveHome => position >= HomeEdge,
            _ => position >= CamStart && position <= CamStart + CamWidth,
        };
    }

    /// <summary>The edge of a switch, next to <paramref name="near"/>: the upper end of its closed range (side 1) or the lower one (side -1).</summary>
    public double Edge(HomingSwitch which, int side, double near)
    {
        double edge = which switch
        {
            HomingSwitch.NegativeLimit => NegativeLimit,
            HomingSwitch.PositiveLimit => PositiveLimit,
            HomingSwitch.NegativeHome or HomingSwitch.PositiveHome => HomeEdge,
            _ => side > 0 ? CamStart + CamWidth : CamStart,
        };
        return Period is { } period ? edge + (Math.Round((near - edge) / period) * period) : edge;
    }

    /// <summary>The index mark passed between two positions, or null.</summary>
    public double? IndexBetween(double from, double to)
    {
        double before = Math.Floor((from - IndexMark) / IndexPitch);
        double after = Math.Floor((to - IndexMark) / IndexPitch);
        return before == after ? null : IndexMark + (Math.Max(before, after) * IndexPitch);
    }

    private double Cam(HomingSwitch which) => which switch
    {
        HomingSwitch.NegativeLimit => NegativeLimit - CamWidth,
        HomingSwitch.PositiveLimit => PositiveLimit,
        HomingSwitch.NegativeHome => HomeEdge - CamWidth,
        HomingSwitch.PositiveHome => HomeEdge,
        _ => CamStart,
    };

    private static double Modulo(double value, double period) => value - (Math.Floor(value / period) * period);
}

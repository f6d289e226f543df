using Supervisor.Configuration.Machines;

namespace Supervisor.Simulation.Plant;

/// <summary>Places the switches of an axis so that the method its file names finds the position its file gives as offset.</summary>
internal static class HomingLayoutFromAxis
{
    /// <summary>Share of the axis's acceleration that a drive homes with when nothing else is commanded.</summary>
    public const double GentleShare = 0.1;

    /// <summary>The method the machine was built for. A maker's own one (0 or below) looks for the nearest end, or for the cam of an endless axis.</summary>
    public static int Method(AxisDefinition axis)
    {
        if (axis.Homing is not { } homing)
        {
            return 37;
        }

        if (homing.Method > 0)
        {
            return homing.Method;
        }

        double sign = axis.Inverted ? -1 : 1;
        return axis.EndlessPeriod is not null || axis.Limits.LowerPosition is not { } lower || axis.Limits.UpperPosition is not { } upper ? 24
            : (homing.Offset - ((lower + upper) / 2)) * sign <= 0 ? 17 : 18;
    }

    public static HomingLayout Build(AxisDefinition axis, Travel travel)
    {
        double turn = (axis.EndlessPeriod ?? 10) * axis.CountsPerUnit;
        double pitch = axis.EndlessPeriod is null ? turn : turn / 4;
        double width = axis.EndlessPeriod is null ? CamWidth(axis, travel) : 0.1 * turn;
        HomingMethod method = default;
        bool known = axis.Homing is not null && HomingMethod.TryGet(Method(axis), out method);

        // With an index, the mark is the home position and the edge lies half a pitch before it.
        double edge = known && method is { Index: true, Switch: not null } ? travel.Home - (method.Pass * pitch / 2) : travel.Home;
        bool lowerEdge = !known || method.EdgeSide <= 0;
        return new HomingLayout
        {
            NegativeLimit = known && method.Switch == HomingSwitch.NegativeLimit ? edge : Between(travel.LowerStop, travel.Lower, double.NegativeInfinity),
            PositiveLimit = known && method.Switch == HomingSwitch.PositiveLimit ? edge : Between(travel.UpperStop, travel.Upper, double.PositiveInfinity),
            HomeEdge = edge,
            CamStart = lowerEdge ? edge : edge - width,
            CamWidth = width,
            IndexMark = travel.Home,
            IndexPitch = pitch,
            Period = axis.EndlessPeriod * axis.CountsPerUnit,
        };
    }

    private static double CamWidth(AxisDefinition axis, Travel travel) =>
        travel.Lower is { } lower && travel.Upper is { } upper ? 0.04 * (upper - lower) : axis.CountsPerUnit;

    private static double Between(double? stop, double? end, double otherwise) =>
        stop is { } a && end is { } b ? (a + b) / 2 : otherwise;
}

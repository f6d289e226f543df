using Supervisor.Configuration.Machines;

namespace Supervisor.Simulation.Plant;

/// <summary>Places the switches of an axis so that the method its file names finds the position its file gives as offset.</summary>
internal static class HomingLayoutFromAxis
{
    /// <summary>Share of the axis's acceleration that a drive homes with when nothing else is commanded.</summary>
    public const double GentleShare = 0.1;

    public static HomingLayout Build(AxisDefinition axis, Travel travel)
    {
        double turn = (axis.EndlessPeriod ?? 10) * axis.CountsPerUnit;
        double pitch = axis.EndlessPeriod is null ? turn : turn / 4;
        double width = axis.EndlessPeriod is null ? CamWidth(axis, travel) : 0.1 * turn;
        HomingMethod method = default;
        bool known = axis.Homing is not null && HomingMethod.TryGet(axis.Homing.Method, out method);

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

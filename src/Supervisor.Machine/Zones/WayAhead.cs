using Supervisor.Configuration.Machines;
using Supervisor.Motion.Stopping;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Zones;

namespace Supervisor.Machine.Zones;

/// <summary>Where a command may take an axis: its whole path with everything that a port may still decide otherwise than is seen here.</summary>
internal static class WayAhead
{
    /// <summary>The span an axis may come to be in once it is given a command, the one it is in already included.</summary>
    /// <param name="axis">The axis.</param>
    /// <param name="command">The command.</param>
    /// <param name="span">Where it may be by now.</param>
    /// <param name="distanceFrom">From where a distance counts at rest, unit, turns not taken off.</param>
    /// <param name="fastest">The highest speed it may have by now, unit/s.</param>
    public static Extent Of(AxisDefinition axis, in AxisCommand command, in Extent span, double distanceFrom, double fastest)
    {
        if (!span.IsKnown || command.Kind is AxisCommandKind.Home or AxisCommandKind.Run)
        {
            // A search goes where it finds its switch, a run comes everywhere.
            return Extent.Anywhere(moves: true);
        }

        var way = command.Kind switch
        {
            AxisCommandKind.Jog => ToEnd(axis, command, span),
            AxisCommandKind.MoveBy => By(axis, command.Target, span, span.With(Extent.At(distanceFrom))),
            AxisCommandKind.MoveFromHere or AxisCommandKind.ProveTimeout => By(axis, command.Target, span, span),
            _ when axis.EndlessPeriod is { } period => Round(command, span, period, axis.InPosition.Window),
            _ => span.With(Extent.At(command.Target)),
        };
        var overrun = span.Moves ? Overrun(axis, command.Deceleration, fastest) : 0;
        return new Extent(way.Lower - overrun, way.Upper + overrun, Moves: true);
    }

    private static Extent ToEnd(AxisDefinition axis, in AxisCommand command, in Extent span)
    {
        if (axis.EndlessPeriod is not null)
        {
            return Extent.Anywhere(moves: true);
        }

        var end = command.Target > 0 ? axis.Limits.UpperPosition ?? double.PositiveInfinity : axis.Limits.LowerPosition ?? double.NegativeInfinity;
        return span.With(Extent.At(double.IsNaN(command.Until) ? end : command.Until));
    }

    /// <summary>A distance from wherever it is when its port takes the command: it ends inside the limits, or it is refused there.</summary>
    private static Extent By(AxisDefinition axis, double distance, in Extent span, in Extent from)
    {
        var way = from.With(new Extent(from.Lower + distance, from.Upper + distance, Moves: true));
        return axis.EndlessPeriod is not null ? way : new Extent(
            Math.Max(way.Lower, Math.Min(span.Lower, axis.Limits.LowerPosition ?? double.NegativeInfinity)),
            Math.Min(way.Upper, Math.Max(span.Upper, axis.Limits.UpperPosition ?? double.PositiveInfinity)),
            Moves: true);
    }

    /// <summary>To a position of an endless axis: from rest the way is known, unless it may as well be taken the other way, or once more, round.</summary>
    private static Extent Round(in AxisCommand command, in Extent span, double period, double window)
    {
        if (span.Moves || span.Lower != span.Upper)
        {
            return Extent.Anywhere(moves: true);
        }

        var ahead = command.Target - span.Lower;
        ahead -= Math.Floor(ahead / period) * period;
        var by = command.Shape.Way switch
        {
            WayRound.Positive => ahead,
            WayRound.Negative => ahead - period,
            _ => ahead > period / 2 ? ahead - period : ahead,
        };
        var mayGoOtherwise = command.Shape.Way == WayRound.Shortest
            ? Math.Abs(by) > (period / 2) - (2 * window)
            : Math.Min(ahead, period - ahead) < 2 * window;
        return mayGoOtherwise ? Extent.Anywhere(moves: true) : span.With(Extent.At(span.Lower + by));
    }

    /// <summary>A move that takes another's place brakes with its own ramp: where that is gentler it runs beyond where it would have stood.</summary>
    private static double Overrun(AxisDefinition axis, double deceleration, double fastest)
    {
        var stops = axis.Limits.Jerk is { } jerk
            ? StopCalculation.StoppingDistance(fastest, deceleration, jerk)
            : StopCalculation.StoppingDistance(fastest, deceleration);
        return Math.Max(0, stops - StopCalculation.StoppingDistance(fastest, axis.Limits.Deceleration));
    }
}

using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Motion.Stopping;
using Supervisor.Runtime.Axes;

namespace Supervisor.Runtime.Stops;

/// <summary>
/// How long a drive is left unasked to prove its communication time-out, and how far it may come meanwhile: the same for whoever plans it, does it and judges it.
/// </summary>
public static class TimeoutAllowance
{
    // Clocks and ramps of drives are not exact (common practice, no source).
    private const double TimeShare = 0.1;
    private const double SpeedTolerance = 1.15;
    private static readonly TimeSpan LeastTolerance = TimeSpan.FromMilliseconds(50);
    private static readonly TimeSpan RestGrace = TimeSpan.FromMilliseconds(750);

    /// <summary>Longest time from the last frame until the drive must act: its time-out, a tenth or 50 ms of it, and one step of its register.</summary>
    public static TimeSpan LongestUntilActing(AxisDefinition axis)
    {
        ArgumentNullException.ThrowIfNull(axis);
        var timeout = axis.CommunicationTimeout;
        var share = timeout * TimeShare;
        return timeout + (share > LeastTolerance ? share : LeastTolerance) + Step(axis.Drive);
    }

    /// <summary>Time for which the drive is left unasked at least; it is asked again with the next cycle.</summary>
    public static TimeSpan Silence(AxisDefinition axis, PortDefinition port)
    {
        ArgumentNullException.ThrowIfNull(port);
        return LongestUntilActing(axis) + port.Cycle;
    }

    /// <summary>From the first look after the silence until the proof must have ended, whatever the drive does.</summary>
    public static TimeSpan LongestLook(AxisDefinition axis, double velocity)
    {
        ArgumentNullException.ThrowIfNull(axis);
        return axis.Limits.StoppingTime(Math.Abs(velocity) * SpeedTolerance) + RestGrace;
    }

    /// <summary>Farthest way from the last frame to rest, unit; infinite for a drive that only lets go of its torque.</summary>
    public static double Distance(AxisDefinition axis, double velocity)
    {
        ArgumentNullException.ThrowIfNull(axis);
        var speed = Math.Abs(velocity);
        return axis.Drive.CommunicationTimeout?.Reaction == TimeoutReaction.TorqueOff && speed > 0
            ? double.PositiveInfinity
            : (speed * LongestUntilActing(axis).TotalSeconds) + Ramp(axis, speed * SpeedTolerance) + Axis.StandstillWindowOf(axis);
    }

    /// <summary>
    /// Way that a proof at a velocity needs, unit, so that a drive which does not act still runs when it is asked again: to speed, the silence, and a stop.
    /// </summary>
    public static double WayNeeded(AxisDefinition axis, PortDefinition port, double velocity)
    {
        ArgumentNullException.ThrowIfNull(axis);
        ArgumentNullException.ThrowIfNull(port);
        var speed = Math.Abs(velocity);
        var reached = speed * speed / (2 * axis.Limits.Acceleration) * SpeedTolerance;
        var jerked = axis.Limits.Jerk is { } jerk ? speed * axis.Limits.Acceleration / jerk : 0;
        return reached + jerked + (speed * (Silence(axis, port) + (port.Cycle * Looks)).TotalSeconds) + Ramp(axis, speed * SpeedTolerance) + Axis.StandstillWindowOf(axis) + (axis.InPosition.Window * 2);
    }

    // Cycles in which the speed is seen to be reached, and the drive is asked again.
    private const int Looks = 6;

    /// <summary>Way of the machine file's ramp from a speed, unit.</summary>
    public static double Ramp(AxisDefinition axis, double speed)
    {
        ArgumentNullException.ThrowIfNull(axis);
        return axis.Limits.StoppingDistance(speed);
    }

    /// <summary>The speed that the machine file's ramp leaves so long after the drive must have begun to brake, unit/s.</summary>
    public static double SpeedLeft(AxisDefinition axis, double velocity, TimeSpan after)
    {
        ArgumentNullException.ThrowIfNull(axis);
        var grace = after - LongestUntilActing(axis) - LeastTolerance - axis.Limits.Rounding(axis.Limits.Deceleration);
        return grace <= TimeSpan.Zero ? double.PositiveInfinity : Math.Max(0, (Math.Abs(velocity) * SpeedTolerance) - (axis.Limits.Deceleration * grace.TotalSeconds));
    }

    private static TimeSpan Step(DriveDefinition drive) => drive.Parameter(FieldNames.CommunicationTimeout) is { } field
        ? TimeSpan.FromMilliseconds(field.Unit == "s" ? field.Scale * 1000 : field.Scale)
        : TimeSpan.Zero;
}

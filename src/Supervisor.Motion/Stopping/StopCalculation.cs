namespace Supervisor.Motion.Stopping;

/// <summary>
/// How far and how long an axis runs on after its deceleration has begun. Reaction times (bus, drive, brake) come on top:
/// this is one term of a stopping distance, not the distance a guard must be away.
/// </summary>
public static class StopCalculation
{
    /// <summary>Distance of a stop at constant deceleration, unit: v²/2a.</summary>
    /// <param name="velocity">Unit/s; its sign does not matter.</param>
    /// <param name="deceleration">Unit/s², above 0.</param>
    /// <exception cref="ArgumentOutOfRangeException">An argument is out of its range; it names which.</exception>
    public static double StoppingDistance(double velocity, double deceleration)
    {
        Require.Finite(velocity);
        Require.Positive(deceleration);
        return velocity * velocity / (2 * deceleration);
    }

    /// <summary>Distance of a stop whose deceleration is built up and let go at a limited jerk, from constant velocity, unit.</summary>
    /// <param name="velocity">Unit/s; its sign does not matter.</param>
    /// <param name="deceleration">Highest deceleration, unit/s², above 0.</param>
    /// <param name="jerk">Unit/s³, above 0.</param>
    /// <exception cref="ArgumentOutOfRangeException">An argument is out of its range; it names which.</exception>
    public static double StoppingDistance(double velocity, double deceleration, double jerk)
    {
        var speed = Speed(velocity, deceleration, jerk);
        return speed >= deceleration * deceleration / jerk
            ? (speed * speed / (2 * deceleration)) + (speed * deceleration / (2 * jerk))
            : speed * Math.Sqrt(speed / jerk);
    }

    /// <summary>Time of a stop at constant deceleration: v/a.</summary>
    /// <param name="velocity">Unit/s; its sign does not matter.</param>
    /// <param name="deceleration">Unit/s², above 0.</param>
    /// <exception cref="ArgumentOutOfRangeException">An argument is out of its range; it names which.</exception>
    /// <exception cref="OverflowException">The time is beyond <see cref="TimeSpan.MaxValue"/>.</exception>
    public static TimeSpan StoppingTime(double velocity, double deceleration)
    {
        Require.Finite(velocity);
        Require.Positive(deceleration);
        return TimeSpan.FromSeconds(Math.Abs(velocity) / deceleration);
    }

    /// <summary>Time of a stop whose deceleration is built up and let go at a limited jerk, from constant velocity.</summary>
    /// <param name="velocity">Unit/s; its sign does not matter.</param>
    /// <param name="deceleration">Highest deceleration, unit/s², above 0.</param>
    /// <param name="jerk">Unit/s³, above 0.</param>
    /// <exception cref="ArgumentOutOfRangeException">An argument is out of its range; it names which.</exception>
    /// <exception cref="OverflowException">The time is beyond <see cref="TimeSpan.MaxValue"/>.</exception>
    public static TimeSpan StoppingTime(double velocity, double deceleration, double jerk)
    {
        var speed = Speed(velocity, deceleration, jerk);
        return TimeSpan.FromSeconds(
            speed >= deceleration * deceleration / jerk ? (speed / deceleration) + (deceleration / jerk) : 2 * Math.Sqrt(speed / jerk));
    }

    private static double Speed(double velocity, double deceleration, double jerk)
    {
        Require.Finite(velocity);
        Require.Positive(deceleration);
        Require.Positive(jerk);
        return Math.Abs(velocity);
    }
}

namespace Supervisor.Motion.Stopping;

/// <summary>Compares a stop with one that was measured earlier, also from another velocity.</summary>
public static class StopComparison
{
    /// <summary>
    /// How many times as long a stop was as the earlier one would have been from its velocity, by time or by way, whichever is worse. The
    /// earlier one is taken apart into a reaction at constant velocity and a ramp at constant deceleration.
    /// </summary>
    /// <param name="velocity">Velocity at the trip, unit/s; its sign does not matter.</param>
    /// <param name="time">From trip to rest.</param>
    /// <param name="distance">From trip to rest, unit.</param>
    /// <param name="earlierVelocity">The same of the earlier stop, above 0.</param>
    /// <param name="earlierTime">The same of the earlier stop.</param>
    /// <param name="earlierDistance">The same of the earlier stop.</param>
    /// <param name="deceleration">Of both, unit/s², above 0.</param>
    /// <exception cref="ArgumentOutOfRangeException">An argument is out of its range; it names which.</exception>
    public static double Excess(
        double velocity, TimeSpan time, double distance, double earlierVelocity, TimeSpan earlierTime, double earlierDistance, double deceleration)
    {
        Require.Finite(velocity);
        Require.Finite(distance);
        Require.Positive(earlierVelocity);
        Require.Positive(deceleration);
        var speed = Math.Abs(velocity);
        var expectedTime = earlierTime.TotalSeconds + ((speed - earlierVelocity) / deceleration);
        var reaction = Math.Max(0, earlierDistance - StopCalculation.StoppingDistance(earlierVelocity, deceleration)) / earlierVelocity;
        var expectedDistance = (speed * reaction) + StopCalculation.StoppingDistance(speed, deceleration);
        return Math.Max(time.TotalSeconds / Math.Max(expectedTime, 0.001), distance / Math.Max(expectedDistance, 1e-9));
    }
}

namespace Supervisor.Motion.Profiles;

/// <summary>
/// A move from rest to rest in three phases: constant acceleration, constant velocity, constant deceleration. A move too
/// short to reach the velocity limit has no middle phase (a triangle).
/// </summary>
/// <remarks>
/// Lengths in any one unit, times in seconds. A plain value: planning and reading it allocate nothing. Positions count from
/// the start of the move and carry the sign of the distance.
/// </remarks>
public readonly record struct TrapezoidalProfile
{
    private readonly double _acceleration;
    private readonly double _deceleration;

    private TrapezoidalProfile(double distance, double peak, double acceleration, double deceleration, double cruiseSeconds)
    {
        Distance = distance;
        PeakVelocity = Math.CopySign(peak, distance);
        _acceleration = Math.CopySign(acceleration, distance);
        _deceleration = Math.CopySign(deceleration, distance);
        AccelerationSeconds = peak / acceleration;
        CruiseSeconds = cruiseSeconds;
        DecelerationSeconds = peak / deceleration;
    }

    /// <summary>Signed length of the move, unit.</summary>
    public double Distance { get; }

    /// <summary>Highest velocity reached, unit/s, with the sign of the distance; 0 for a move of no length.</summary>
    public double PeakVelocity { get; }

    /// <summary>Length of the first phase, s.</summary>
    public double AccelerationSeconds { get; }

    /// <summary>Length of the middle phase, s; 0 for a triangle.</summary>
    public double CruiseSeconds { get; }

    /// <summary>Length of the last phase, s.</summary>
    public double DecelerationSeconds { get; }

    /// <summary>Length of the whole move, s.</summary>
    public double DurationSeconds => AccelerationSeconds + CruiseSeconds + DecelerationSeconds;

    /// <summary>Length of the whole move, rounded to 100 ns; <see cref="TimeSpan.MaxValue"/> when it is longer than that.</summary>
    public TimeSpan Duration =>
        DurationSeconds < TimeSpan.MaxValue.TotalSeconds ? TimeSpan.FromSeconds(DurationSeconds) : TimeSpan.MaxValue;

    /// <summary>Plans a move from rest to rest.</summary>
    /// <param name="distance">Signed length, unit; finite.</param>
    /// <param name="maximumVelocity">Velocity limit, unit/s, above 0.</param>
    /// <param name="acceleration">Unit/s², above 0.</param>
    /// <param name="deceleration">Unit/s², above 0; a magnitude.</param>
    /// <exception cref="ArgumentOutOfRangeException">An argument is out of its range; it names which.</exception>
    public static TrapezoidalProfile Plan(double distance, double maximumVelocity, double acceleration, double deceleration)
    {
        Require.Finite(distance);
        Require.Positive(maximumVelocity);
        Require.Positive(acceleration);
        Require.Positive(deceleration);

        var length = Math.Abs(distance);
        var ramps = (maximumVelocity * maximumVelocity / (2 * acceleration)) + (maximumVelocity * maximumVelocity / (2 * deceleration));
        if (length < ramps)
        {
            var peak = Math.Sqrt(2 * length * acceleration * (deceleration / (acceleration + deceleration)));
            return new TrapezoidalProfile(distance, peak, acceleration, deceleration, cruiseSeconds: 0);
        }

        return new TrapezoidalProfile(distance, maximumVelocity, acceleration, deceleration, (length - ramps) / maximumVelocity);
    }

    /// <summary>Position since the start, unit: 0 before the move, <see cref="Distance"/> exactly after it.</summary>
    /// <param name="sinceStart">Time since the move began.</param>
    public double PositionAt(TimeSpan sinceStart)
    {
        var t = sinceStart.TotalSeconds;
        if (t <= 0)
        {
            return 0;
        }

        if (t < AccelerationSeconds)
        {
            return _acceleration * t * t / 2;
        }

        var left = DurationSeconds - t;
        if (left <= 0)
        {
            return Distance;
        }

        return left < DecelerationSeconds
            ? Distance - (_deceleration * left * left / 2)
            : PeakVelocity * (t - (AccelerationSeconds / 2));
    }

    /// <summary>Velocity, unit/s: 0 before and after the move.</summary>
    /// <param name="sinceStart">Time since the move began.</param>
    public double VelocityAt(TimeSpan sinceStart)
    {
        var t = sinceStart.TotalSeconds;
        var left = DurationSeconds - t;
        if (t <= 0 || left <= 0)
        {
            return 0;
        }

        if (t < AccelerationSeconds)
        {
            return _acceleration * t;
        }

        return left < DecelerationSeconds ? _deceleration * left : PeakVelocity;
    }
}

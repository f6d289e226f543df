namespace Supervisor.Motion.Following;

/// <summary>
/// The least progress a healthy drive makes on a move, computed beside it: a trapezoid run a little slower than commanded, planned anew each step from where it is.
/// An axis that falls behind it does not follow. It never runs behind the axis, so that what went well before does not hide what goes wrong now.
/// </summary>
/// <remarks>
/// It can't see an axis that runs ahead of its profile, a coupling that slips behind the encoder, nor a lag that the tolerance of its caller hides.
/// One unit of length, seconds. A plain value: nothing is allocated.
/// </remarks>
public struct FollowingModel
{
    // What a drive may be short of its commanded speed, and of ramps that its torque or a limited jerk makes longer.
    private const double SpeedShare = 0.95;
    private const double RampShare = 0.7;
    private const double LongestStepSeconds = 0.005;

    private double _position;
    private double _velocity;

    /// <summary>Speed of the model, unit/s: what a late reading is worth in length.</summary>
    public readonly double Speed => Math.Abs(_velocity);

    /// <summary>Begins where the axis is, as fast as it moves.</summary>
    /// <param name="position">Unit; finite.</param>
    /// <param name="velocity">Unit/s with its sign; finite.</param>
    public void Begin(double position, double velocity)
    {
        Require.Finite(position);
        Require.Finite(velocity);
        _position = position;
        _velocity = velocity;
    }

    /// <summary>Lets time pass and tells how far the axis is behind, unit; 0 when it is not.</summary>
    /// <param name="actual">Where the axis is, unit.</param>
    /// <param name="target">Where it goes, unit.</param>
    /// <param name="direction">Of the move, 1 or -1: past its target an axis is not behind.</param>
    /// <param name="velocity">Commanded, unit/s, above 0.</param>
    /// <param name="acceleration">Commanded, unit/s², above 0.</param>
    /// <param name="deceleration">Commanded, unit/s², above 0.</param>
    /// <param name="elapsed">Since the last step, 0 or more; beyond a second it is not looked at any more.</param>
    /// <exception cref="ArgumentOutOfRangeException">An argument is out of its range; it names which.</exception>
    public double Step(double actual, double target, int direction, double velocity, double acceleration, double deceleration, TimeSpan elapsed)
    {
        Require.Positive(velocity);
        Require.Positive(acceleration);
        Require.Positive(deceleration);
        for (var left = Math.Min(elapsed.TotalSeconds, 1); left > 0; left -= LongestStepSeconds)
        {
            Advance(target, velocity * SpeedShare, acceleration * RampShare, deceleration * RampShare, Math.Min(left, LongestStepSeconds));
        }

        // One that comes to its target too fast to stop there goes past it and back, and may brake harder than the model.
        var isPast = (actual - target) * direction >= 0;
        var behind = (_position - actual) * direction;
        if (behind <= 0 || isPast)
        {
            _position = actual;
            return 0;
        }

        return behind;
    }

    private void Advance(double target, double velocity, double acceleration, double deceleration, double seconds)
    {
        var left = target - _position;
        var wanted = Math.Sign(left) * Math.Min(velocity, Math.Sqrt(2 * deceleration * Math.Abs(left)));
        if (wanted * _velocity >= 0 && Math.Abs(wanted) < Math.Abs(_velocity))
        {
            // Slower at once is never more than a healthy drive does.
            _velocity = wanted;
        }
        else
        {
            var change = (wanted * _velocity < 0 ? deceleration : acceleration) * seconds;
            _velocity += Math.Clamp(wanted - _velocity, -change, change);
        }

        var step = _velocity * seconds;
        var passes = step * left > 0 && Math.Abs(step) >= Math.Abs(left);
        _position = passes ? target : _position + step;
        _velocity = passes ? 0 : _velocity;
    }
}

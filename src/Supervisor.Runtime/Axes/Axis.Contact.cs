namespace Supervisor.Runtime.Axes;

/// <content>
/// When a contact move touches: its torque is at its limit, the axis no longer keeps up with its speed, and it gathers none. At its limit
/// also an axis that gathers speed more slowly than its profile, as the limit leaves less torque than the ramp needs; that is no contact.
/// </content>
public sealed partial class Axis
{
    // A torque this near to the limit counts as pressing: the drive holds it there, the reading trails.
    private const double ContactShare = 0.9;

    private static readonly TimeSpan ContactGrace = TimeSpan.FromMilliseconds(50);

    // So long without gaining speed an axis at its limit is pressing; one that loses speed is at once. An axis that needs longer to gain a
    // quarter of a per cent of its top speed has no torque left for moving: its friction is the contact, as it would be for a hand.
    private static readonly TimeSpan ContactWindow = TimeSpan.FromMilliseconds(60);

    private TimeSpan _contactSince;
    private double _contactSpeed;

    /// <summary>While the axis follows its ramp it may need its torque and is slow: nothing is judged before the ramp's time, half as long again.</summary>
    private TimeSpan AccelerationTime => TimeSpan.FromSeconds(_inHand.Velocity / _inHand.Acceleration * 1.5) + ContactGrace;

    private bool TouchesNow(TimeSpan now)
    {
        var speed = _moveDirection * _velocity;
        var isAtLimit = _moveDirection * Torque >= _inHand.Torque * ContactShare;
        if (now < _moveTakenAt + AccelerationTime || !isAtLimit || speed >= _inHand.Velocity / 2)
        {
            (_contactSince, _contactSpeed) = (now, Math.Max(speed, 0));
            return false;
        }

        // Drives show some noise: half of what counts as standing is neither gained nor lost.
        var noise = _restVelocity / 2;
        if (speed > _contactSpeed + noise)
        {
            (_contactSince, _contactSpeed) = (now, speed);
            return false;
        }

        return speed < _contactSpeed - noise || now - _contactSince >= ContactWindow;
    }
}

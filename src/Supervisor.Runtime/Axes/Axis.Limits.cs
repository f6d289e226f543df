using Supervisor.Motion.Stopping;
using Supervisor.Records.Faults;

namespace Supervisor.Runtime.Axes;

/// <content>Soft limits as measured: targets are checked before they are given, but a drive may go elsewhere.</content>
public sealed partial class Axis
{
    private double _outsideAtStart;

    /// <summary>How far outside its limits the axis is, unit; 0 inside, and where there are none.</summary>
    private double Outside => OutsideAt(Position);

    private double OutsideAt(double position) => _scale.Period > 0 ? 0 : Math.Max(0, Math.Max(
        position - (Definition.Limits.UpperPosition ?? double.PositiveInfinity),
        (Definition.Limits.LowerPosition ?? double.NegativeInfinity) - position));

    /// <summary>An axis beyond a limit may go nearer to it, also when it stays beyond: back is the only way it may go.</summary>
    private bool LeadsBack(double from, double to)
    {
        var isUpper = from > (Definition.Limits.UpperPosition ?? double.PositiveInfinity);
        var isUpperAfter = to > (Definition.Limits.UpperPosition ?? double.PositiveInfinity);
        return OutsideAt(from) > 0 && isUpper == isUpperAfter && OutsideAt(to) < OutsideAt(from);
    }

    /// <summary>
    /// The gentlest ramp by which an axis in motion comes to rest before its limit, unit/s²; 0 where any does. A move that takes another's place at
    /// speed is driven with this one at least: with a gentler one it would run past its target, and the limit behind it, and come back.
    /// </summary>
    private double LeastDeceleration
    {
        get
        {
            var limits = Definition.Limits;
            var limit = _velocity > 0 ? limits.UpperPosition : limits.LowerPosition;
            if (_scale.Period > 0 || limit is not { } end || Math.Abs(_velocity) < _restVelocity)
            {
                return 0;
            }

            // Until the drive acts on it the axis runs on, and may gather speed.
            var delay = HandshakeTime.TotalSeconds;
            var speed = Math.Min(limits.Velocity, Math.Abs(_velocity) + (limits.Acceleration * delay));
            var room = ((end - Position) * Math.Sign(_velocity)) - (speed * delay);
            return room > 0 ? Math.Min(limits.Deceleration, speed * speed / (2 * room)) : limits.Deceleration;
        }
    }

    /// <summary>
    /// A fault once the axis is farther outside than its window and the way it needs to stop; where a move began outside, than it was then.
    /// </summary>
    private void SuperviseLimits(TimeSpan now)
    {
        if (!CountsAsReferenced || _node is not (AxisNode.Running or AxisNode.Jogging or AxisNode.Halting))
        {
            return;
        }

        var tolerated = _outsideAtStart + Definition.InPosition.Window + StopCalculation.StoppingDistance(_velocity, Definition.Limits.Deceleration);
        if (Outside > tolerated)
        {
            SeeFault(FaultCode.SoftLimitPassed, 0, now);
        }
    }
}

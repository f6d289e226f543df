using Supervisor.Motion.Stopping;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Runtime.Axes;

/// <summary>Which part of a move with approach speed is under way.</summary>
internal enum ApproachStage : byte
{
    /// <summary>One speed all the way.</summary>
    None = 0,
    SlowStart = 1,
    Fast = 2,
    SlowEnd = 3,
}

/// <content>
/// Approach speed: the drive has the whole move's target from the start, only its speed is changed on the way. So a change that comes late,
/// or not at all, can make the approach too short but can never carry the axis past its target.
/// </content>
public sealed partial class Axis
{
    private ApproachStage _approach;
    private double _approachFrom;

    private static double ApproachVelocity(in AxisCommand command) => Math.Min(command.Shape.ApproachVelocity, command.Velocity);

    private double StageVelocity(in AxisCommand command) =>
        _approach is ApproachStage.SlowStart or ApproachStage.SlowEnd ? ApproachVelocity(command) : command.Velocity;

    private void BeginApproach(in AxisCommand command)
    {
        _approachFrom = Position;
        _approach = !command.Shape.HasApproach ? ApproachStage.None
            : Math.Abs(_scale.ToUnit(_targetCounts) - Position) <= command.Shape.ApproachEnd + command.Shape.ApproachStart ? ApproachStage.SlowEnd
            : command.Shape.ApproachStart > 0 ? ApproachStage.SlowStart
            : ApproachStage.Fast;
    }

    /// <summary>Goes over to the next part of the move when it is there, or will be when the drive hears of it.</summary>
    private void Approach(TimeSpan now)
    {
        if (_approach is ApproachStage.None or ApproachStage.SlowEnd || !_moveTaken)
        {
            return;
        }

        var left = Math.Abs(_scale.ToUnit(_targetCounts) - Position);
        var end = _inHand.Shape.ApproachEnd;
        if (end > 0 && left <= end + SlowingDistance)
        {
            _approach = ApproachStage.SlowEnd;
            GiveAgain(now, _inHand.Deceleration);
        }
        else if (_approach == ApproachStage.SlowStart && Math.Abs(Position - _approachFrom) >= _inHand.Shape.ApproachStart)
        {
            _approach = ApproachStage.Fast;
            GiveAgain(now, _inHand.Deceleration);
        }
    }

    /// <summary>The way until the axis has become slow, with the way it makes until the drive knows: it may be gathering speed.</summary>
    private double SlowingDistance
    {
        get
        {
            var slow = ApproachVelocity(_inHand);
            var delay = HandshakeTime.TotalSeconds;
            var speed = Math.Max(slow, Math.Min(_inHand.Velocity, Math.Abs(_velocity) + (_inHand.Acceleration * delay)));
            return (speed * delay) + StopCalculation.StoppingDistance(speed, _inHand.Deceleration) - StopCalculation.StoppingDistance(slow, _inHand.Deceleration);
        }
    }

    /// <summary>Takes the slow parts off a distance and tells how long they take; what is slow for want of time on the wire is among them.</summary>
    private TimeSpan SlowTime(in AxisCommand command, ref double distance)
    {
        if (!command.Shape.HasApproach)
        {
            return TimeSpan.Zero;
        }

        var delay = HandshakeTime.TotalSeconds;
        var late = command.Velocity * delay;
        var slow = Math.Min(distance, command.Shape.ApproachStart + command.Shape.ApproachEnd + (2 * late));
        distance -= slow;
        var velocity = ApproachVelocity(command);
        return TimeSpan.FromSeconds(Math.Min(
            (slow / velocity) + (velocity / command.Acceleration) + (velocity / command.Deceleration) + (2 * delay), TimeSpan.MaxValue.TotalSeconds / 4));
    }
}

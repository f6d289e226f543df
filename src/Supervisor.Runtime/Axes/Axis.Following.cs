using Supervisor.Drives.Coding;
using Supervisor.Motion.Following;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Runtime.Axes;

/// <content>
/// Following error: the drive's own where it tells one; else how far the axis is behind a profile computed here, on moves and jogs whose
/// speed and ramp this computer commands. On contact moves, homing, halts and at rest other rules watch.
/// </content>
public sealed partial class Axis
{
    private FollowingModel _model;
    private bool _modelRuns;
    private TimeSpan _modelAt;
    private TimeSpan _followingSince = TimeSpan.MaxValue;

    private void SuperviseFollowing(TimeSpan now)
    {
        if (Definition.FollowingError is not { } following)
        {
            return;
        }

        var exceeded = double.IsNaN(_feedback.FollowingErrorCounts) ? IsBehindProfile(following.Limit, now)
            : _node is AxisNode.Ready or AxisNode.Running or AxisNode.Jogging or AxisNode.Halting
                && Math.Abs(_scale.ToUnit(_feedback.FollowingErrorCounts)) > following.Limit;
        _followingSince = !exceeded ? TimeSpan.MaxValue : _followingSince < now ? _followingSince : now;
        if (exceeded && now - _followingSince >= following.For)
        {
            SeeFault(FaultCode.FollowingError, 0, now);
        }
    }

    /// <summary>Farther behind than the limit and the way of one cycle: a reading may be that late.</summary>
    private bool IsBehindProfile(double limit, TimeSpan now)
    {
        var moves = _node is AxisNode.Running or AxisNode.Jogging && _progress.Goal == DriveGoal.Move
            && _inHand.Kind != AxisCommandKind.Contact && Coding.CommandsVelocity && Coding.CommandsAcceleration;
        if (!moves || (!_moveTaken && !_modelRuns))
        {
            _modelRuns = false;
            return false;
        }

        if (!_modelRuns)
        {
            // Only once the drive was seen to have taken the move: it began before that, never after.
            _modelRuns = true;
            _modelAt = now;
            _model.Begin(Position, _velocity);
            return false;
        }

        // While a change of speed is on its way the slower one counts.
        var asked = _moveTaken || !_inHand.Shape.HasApproach ? StageVelocity(_inHand) : ApproachVelocity(_inHand);
        var velocity = Math.Min(asked, Math.Abs(_scale.ToUnit(Coding.CommandedVelocity(Image))));
        var braking = Coding.CommandsDeceleration ? _inHand.Deceleration : Math.Min(_inHand.Acceleration, _inHand.Deceleration);
        if (velocity <= 0)
        {
            return false;
        }

        var behind = _model.Step(Position, _scale.ToUnit(_targetCounts), _moveDirection, velocity, _inHand.Acceleration, braking, now - _modelAt);
        _modelAt = now;
        _behind = behind;
        return behind > limit + (_model.Speed * _board.Machine.Ports[Definition.Port].Cycle.TotalSeconds);
    }
}

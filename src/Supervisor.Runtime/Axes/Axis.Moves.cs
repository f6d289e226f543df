using Supervisor.Bus.Rtu;
using Supervisor.Drives.Coding;
using Supervisor.Motion.Profiles;
using Supervisor.Motion.Stopping;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Runtime.Axes;

/// <content>Moves: where they go, what is refused, how long they may take, and which ramp a stop finds in the drive.</content>
public sealed partial class Axis
{
    private static readonly TimeSpan MoveGrace = TimeSpan.FromSeconds(2);

    // Rounding of counts must not refuse a move to the very limit.
    private const double LimitTolerance = 1e-6;

    private const int StopRampAttempts = 2;

    private double _targetCounts;
    private bool _hasTarget;
    private bool _moveTaken;
    private int _moveDirection;

    /// <summary>Where a command's way begins: what waits begins where the running move ends.</summary>
    private double StartOf(in AxisCommand command) =>
        command.Shape.AfterCurrent && _node == AxisNode.Running ? _scale.ToUnit(_targetCounts) : Position;

    private Refusal RefuseMove(in AxisCommand command, out double value)
    {
        value = 0;
        if (!AxisTable.Awaits(_node, AxisEvent.MoveGiven))
        {
            return _node is AxisNode.Off or AxisNode.Energising or AxisNode.BrakeReleasing ? Refusal.NotEnabled : Refusal.AxisBusy;
        }

        if (!CountsAsReferenced)
        {
            return Refusal.NotReferenced;
        }

        return RefuseNumbers(command, out value) is var numbers and not Refusal.None ? numbers
            : RefuseWaiting(command) is var waiting and not Refusal.None ? waiting
            : command.Kind == AxisCommandKind.Run ? RefuseRun(command, out value)
            : RefuseTarget(command, out value);
    }

    private Refusal RefuseNumbers(in AxisCommand command, out double value)
    {
        value = 0;
        var limits = Definition.Limits;
        if (!double.IsFinite(command.Target) || !(command.Velocity > 0) || !(command.Acceleration > 0) || !(command.Deceleration > 0) || !IsSound(command.Shape))
        {
            return Refusal.InvalidArgument;
        }

        if (command.Velocity > limits.Velocity * (1 + LimitTolerance))
        {
            value = limits.Velocity;
            return Refusal.VelocityLimit;
        }

        if (command.Acceleration > limits.Acceleration * (1 + LimitTolerance) || command.Deceleration > limits.Deceleration * (1 + LimitTolerance))
        {
            value = command.Acceleration > limits.Acceleration * (1 + LimitTolerance) ? limits.Acceleration : limits.Deceleration;
            return Refusal.AccelerationLimit;
        }

        if (command.Shape.HasApproach && !Coding.CommandsVelocity)
        {
            return Refusal.NotSupportedByDrive;
        }

        if (command.Kind != AxisCommandKind.Contact)
        {
            return Refusal.None;
        }

        value = TorqueLimits.Contact;
        return !Coding.ReportsTorque || !Coding.LimitsTorque ? Refusal.NotSupportedByDrive
            : command.Torque > 0 && command.Torque <= TorqueLimits.Contact ? Refusal.None
            : Refusal.TorqueLimit;
    }

    private static bool IsSound(in MoveShape shape) =>
        shape.ApproachVelocity is >= 0 and < double.PositiveInfinity && shape.ApproachStart >= 0 && shape.ApproachEnd >= 0;

    private Refusal RefuseTarget(in AxisCommand command, out double value)
    {
        value = 0;
        var limits = Definition.Limits;
        var start = StartOf(command);
        var target = TargetOf(command);
        var outside = OutsideAt(target);
        if (outside > LimitTolerance && !LeadsBack(start, target))
        {
            value = target < (limits.LowerPosition ?? double.MinValue) ? limits.LowerPosition!.Value : limits.UpperPosition!.Value;
            return Refusal.PositionLimit;
        }

        // Without ends a target is only told by its distance: half of what its register counts round, or the drive goes the other way.
        var isBounded = _scale.Period == 0 && limits.LowerPosition is not null && limits.UpperPosition is not null;
        if (!isBounded && Math.Abs(_scale.ToCounts(target - start)) >= Coding.FarthestTarget)
        {
            value = _scale.Shown(target);
            return Refusal.PositionLimit;
        }

        return Refusal.None;
    }

    private double TargetOf(in AxisCommand command)
    {
        var start = StartOf(command);
        return command.Kind switch
        {
            AxisCommandKind.Jog => TargetOfJog(command),
            AxisCommandKind.Run => start + (command.Target * Reach),
            AxisCommandKind.MoveFromHere or AxisCommandKind.ProveTimeout => start + command.Target,
            AxisCommandKind.MoveBy => (_hasTarget ? _scale.ToUnit(_targetCounts) : start) + command.Target,
            _ when _scale.Period > 0 && command.Shape.Way != WayRound.Shortest => RoundTo(command, start),
            _ => _scale.Nearest(start, command.Target),
        };
    }

    /// <summary>The way in a given direction; what comes too near to be stopped at is passed, and reached with the next turn.</summary>
    private double RoundTo(in AxisCommand command, double start)
    {
        var direction = command.Shape.Way == WayRound.Positive ? 1 : -1;
        var speed = command.Shape.AfterCurrent ? 0 : _velocity * direction;
        var least = speed > _restVelocity
            ? (speed * HandshakeTime.TotalSeconds) + StopCalculation.StoppingDistance(speed, command.Deceleration)
            : -Definition.InPosition.Window;
        return _scale.Toward(start, command.Target, direction, Definition.InPosition.Window, least);
    }

    private void BeginMove(in AxisCommand given, TimeSpan now)
    {
        var command = given with { Deceleration = Math.Max(given.Deceleration, LeastDeceleration) };
        _given = command;
        var target = TargetOf(command);
        BeginWay(command, target);
        _moveDirection = Math.Sign(target - Position);
        SetTarget(target);
        _hasTarget = true;
        _moveTaken = false;
        _modelRuns = false;
        _pressing = false;
        _inWindowSince = TimeSpan.MaxValue;
        BeginApproach(command);
        PutMove(command, command.Deceleration);
        _outsideAtStart = Outside;
        Raise(command.Kind == AxisCommandKind.Jog ? AxisEvent.JogGiven : AxisEvent.MoveGiven, now);
        if (command.Kind == AxisCommandKind.Jog)
        {
            _deadline = _jogSeenAt + JogLapse;
        }
    }

    private void SetTarget(double target) => _targetCounts = Math.Round(_scale.ToCounts(target) / Coding.TargetScale) * Coding.TargetScale;

    private void PutMove(in AxisCommand command, double deceleration) => Coding.PutMove(
        Image, _targetCounts, _scale.ToCountRate(StageVelocity(command)), _scale.ToCountRate(command.Acceleration), _scale.ToCountRate(deceleration));

    /// <summary>Gives the move in hand again on the way, with another speed or a farther target; the drive goes over to it without a stop.</summary>
    private void GiveAgain(TimeSpan now, double deceleration)
    {
        _moveTaken = false;
        PutMove(_inHand, deceleration);
        _progress = new GoalProgress { Goal = DriveGoal.Move, Since = now };
        Coding.Pursue(ref _progress, _feedback, fresh: false, now, Image);
    }

    /// <summary>How long a new set-point may take on the wire until the drive acts on it.</summary>
    private TimeSpan HandshakeTime => _board.Machine.Ports[Definition.Port].Cycle * (2 + Coding.Plan.CommandBlocks.Length);

    /// <summary>Half as long again as the move computes, and a grace for the handshake and settling. What runs without end has none.</summary>
    private TimeSpan MoveTime()
    {
        if (_given.Kind == AxisCommandKind.Run)
        {
            return TimeSpan.MaxValue;
        }

        var distance = Math.Abs(_scale.ToUnit(_targetCounts) - Position);
        var slow = SlowTime(_given, ref distance);
        var fast = TrapezoidalProfile.Plan(distance, _given.Velocity, _given.Acceleration, _given.Deceleration).Duration;
        var rounding = Definition.Limits.Rounding(_given.Acceleration) + Definition.Limits.Rounding(_given.Deceleration);
        var time = (slow.TotalSeconds + fast.TotalSeconds + rounding.TotalSeconds) * 1.5;
        return time < TimeSpan.MaxValue.TotalSeconds / 2 ? TimeSpan.FromSeconds(time) + MoveGrace : TimeSpan.MaxValue;
    }

    /// <summary>
    /// A drive that has taken a gentle move holds the ramp it needs for it; the register goes back to the limit's, for it is the one a
    /// halt brakes on, and stopping distances are computed with the limit.
    /// </summary>
    private void RestoreStopRamp()
    {
        if (_node is AxisNode.Running or AxisNode.Jogging)
        {
            Coding.PutDeceleration(Image, _scale.ToCountRate(Definition.Limits.Deceleration));
        }
    }

    /// <summary>
    /// A stop that comes before that, at speed, finds a gentle ramp in the drive, and a drive that has begun to brake on one keeps to it: where it brakes
    /// on the commanded ramp, the limit's goes out ahead of the stop. Where it was lost it goes out once more, after the stops of other axes: what that
    /// costs at speed is far less than the way of a gentle ramp. Then the stop waits for nothing, and is judged as any other.
    /// </summary>
    private void PutStopRamp(DriveGoal goal)
    {
        if (goal is DriveGoal.Halt or DriveGoal.QuickStop)
        {
            Coding.PutDeceleration(Image, _scale.ToCountRate(Definition.Limits.Deceleration));
            _rampDue = Online && !IsMissing && (goal == DriveGoal.Halt || Coding.StopsOnCommandedRamp)
                && Math.Abs(_velocity) > _restVelocity && Coding.HoldsOtherRamp(Image);
            _rampMisses = 0;
        }
    }

    private void FollowStopRamp(AxisRequest request, Transaction transaction)
    {
        if (request != AxisRequest.StopRamp)
        {
            return;
        }

        // One that refuses it keeps its own.
        var isTold = transaction.Result == TransactionResult.Reply || (transaction.Result == TransactionResult.ExceptionReply && !IsBusy(transaction.ExceptionCode));
        _rampMisses += isTold ? 0 : 1;
        _rampDue &= !isTold && _rampMisses < StopRampAttempts;
    }
}

using Supervisor.Configuration.Machines;
using Supervisor.Drives;
using Supervisor.Drives.Coding;
using Supervisor.Records.Faults;
using Supervisor.Records.Tracing;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Runtime.Axes;

/// <content>What the feedback of an exchange means: events for the table.</content>
public sealed partial class Axis
{
    // A speed taken from positions needs some distance between them, or the last count decides it.
    private static readonly TimeSpan SpeedWindow = TimeSpan.FromMilliseconds(20);

    private readonly ushort[] _registers;
    private DriveFeedback _feedback;
    private PositionCounter _counter;
    private bool _isPlaceUnknown;
    private TimeSpan _freshAt;
    private TimeSpan _gap;
    private double _velocity;
    private TimeSpan _speedAt;
    private double _speedFrom;
    private bool _speedIsNew;
    private TimeSpan _inWindowSince = TimeSpan.MaxValue;
    private double _stayCounts;
    private double _contactPosition;
    private FaultCode _contactFault;
    private bool _pressing;
    private TimeSpan _moveTakenAt;
    private int _still;

    /// <summary>Registers of the feedback, filled in block by block.</summary>
    internal Span<ushort> Registers => _registers;

    /// <summary>Time of the last whole feedback.</summary>
    internal TimeSpan FreshAt => _freshAt;

    /// <summary>Position in units since the counter was first read: not wrapped on endless axes.</summary>
    public double Position => _scale.ToUnit(Counts);

    private double Counts => _counter.Counts * Coding.PositionScale;

    /// <summary>Torque in the axis's direction, percent of rated; 0 when not reported.</summary>
    private double Torque => double.IsNaN(_feedback.TorquePercent) ? 0 : Definition.Inverted ? -_feedback.TorquePercent : _feedback.TorquePercent;

    /// <summary>All feedback blocks of this cycle are in <see cref="Registers"/>.</summary>
    internal void TakeFeedback(TimeSpan now)
    {
        Coding.Decode(_registers, Image, out _feedback);
        TakePosition(now);
        Heat(now - _freshAt, now);
        _gap = now - _freshAt;
        _freshAt = now;
        _behind = double.NaN;
        FollowStop();
        if (Online)
        {
            React(now);
        }

        Publish();
        Trace(ExchangeResult.Good, now);
    }

    private void TakePosition(TimeSpan now)
    {
        TakePlace();
        var isFirst = !_counter.IsKnown;
        if (!_isPlaceUnknown)
        {
            _counter.Take(_feedback.PositionRaw, Coding.PositionBits);
        }

        if (!double.IsNaN(_feedback.VelocityCounts))
        {
            _velocity = _scale.ToUnit(_feedback.VelocityCounts);
            _speedIsNew = true;
            return;
        }

        var elapsed = now - _speedAt;
        _speedIsNew = !isFirst && elapsed >= SpeedWindow;
        if (_speedIsNew)
        {
            // One step of the register to and fro is how an axis at rest looks.
            var moved = Position - _speedFrom;
            _velocity = Math.Abs(moved) > Math.Abs(_scale.ToUnit(Coding.PositionScale)) * 1.5 ? moved / elapsed.TotalSeconds : 0;
        }

        if (_speedIsNew || isFirst)
        {
            _speedAt = now;
            _speedFrom = Position;
        }
    }

    /// <summary>A drive that does not know its position has no zero either; when it knows it again, its counter begins anew.</summary>
    private void TakePlace()
    {
        if (_isPlaceUnknown && !_feedback.IsPositionUnknown)
        {
            _counter.Forget();
        }

        _isPlaceUnknown = _feedback.IsPositionUnknown;
        if (_isPlaceUnknown)
        {
            _referenced = false;
            _restKnown = false;
            _hasTarget = false;
        }
    }

    private void React(TimeSpan now)
    {
        if (IsLookingAtTimeout)
        {
            WatchTimeout(now);
            return;
        }

        WatchBattery(now);
        if (_feedback.Has(DriveFlags.Fault) && _node is not (AxisNode.FaultClearing or AxisNode.FaultOff))
        {
            SeeFault(Definition.Drive.FaultCodeOf(_feedback.ErrorCode), _feedback.ErrorCode, now);
        }

        if (!_feedback.Has(DriveFlags.Powered))
        {
            TorqueIsOff(now);
        }

        if (!WatchZero(now))
        {
            return;
        }

        Supervise(now);
        if (_node is AxisNode.Energising or AxisNode.HomeEnergising)
        {
            WatchEnergising(now);
        }

        if (_node is AxisNode.HomeEnergising or AxisNode.HomeBrakeReleasing or AxisNode.Searching)
        {
            WatchHoming(now);
        }

        Pursue(fresh: true, now);
        WatchRest();
        FollowMeasuredStop(now);
        if (_still >= 2 && AxisTable.Awaits(_node, AxisEvent.AtRest))
        {
            Raise(AxisEvent.AtRest, now);
        }

        if (_node is AxisNode.Running or AxisNode.Jogging && _progress.Goal == DriveGoal.Move)
        {
            WatchMove(now);
        }
        else if (_node is AxisNode.ProofBrakeClosing or AxisNode.ProvingBrake or AxisNode.ProofBrakeReleasing)
        {
            WatchProof(now);
        }

        PassDeadline(now);
    }

    /// <summary>At rest: the drive holds the control register as it should be and stands for two looks.</summary>
    private void WatchRest()
    {
        if (!Image.IsControlHeld || Math.Abs(_velocity) >= _restVelocity)
        {
            _still = 0;
        }
        else if (_speedIsNew)
        {
            _still++;
        }
    }

    private void TorqueIsOff(TimeSpan now)
    {
        if (_node == AxisNode.FaultHolding)
        {
            LoseHeldLoad(now);
        }
        else if (AxisTable.Awaits(_node, AxisEvent.TorqueOff))
        {
            Raise(AxisEvent.TorqueOff, now);
        }
        else if (_node is AxisNode.BrakeReleasing or AxisNode.HomeBrakeReleasing or AxisNode.Searching or AxisNode.Ready or AxisNode.Running or AxisNode.Jogging or AxisNode.Halting
            or AxisNode.ProofBrakeClosing or AxisNode.ProvingBrake or AxisNode.ProofBrakeReleasing)
        {
            // It may have restarted, and with it its counter: its uptime is asked at once, not when its turn comes.
            // Feedbacks in every cycle leave no time for that.
            _doubtsRestart = true;
            _mayHaveRestarted |= _gap > _board.Machine.Ports[Definition.Port].Cycle * 1.5;
            SeeFault(FaultCode.TorqueLostUnexpectedly, _feedback.ErrorCode, now);
        }
    }

    /// <summary>Carries the goal on: after feedback, and after a write that the drive confirmed.</summary>
    internal void Pursue(bool fresh, TimeSpan now)
    {
        if (AwaitsTorqueLimit)
        {
            return;
        }

        var result = Coding.Pursue(ref _progress, _feedback, fresh, now, Image);
        if (result == GoalResult.Reached && _progress.Goal is (DriveGoal.Move or DriveGoal.Push))
        {
            _moveTakenAt = _moveTaken ? _moveTakenAt : now;
            _moveTaken = true;
            RestoreStopRamp();
        }
        else if (result == GoalResult.Reached && AxisTable.Awaits(_node, AxisEvent.GoalReached) && !LeavesStop(now)
            && !(_isPlaceUnknown && _node == AxisNode.Searching))
        {
            Raise(AxisEvent.GoalReached, now);
        }
        else if (result == GoalResult.Failed && AxisTable.Awaits(_node, AxisEvent.GoalFailed))
        {
            _driveCode = _feedback.ErrorCode;
            Raise(AxisEvent.GoalFailed, now);
        }
        else if (result == GoalResult.Failed && _progress.Goal is DriveGoal.Move or DriveGoal.Push)
        {
            // It did not acknowledge the start, and may move on it yet.
            SeeFault(FaultCode.RequestRejected, _feedback.ErrorCode, now);
        }
    }

    private void Supervise(TimeSpan now)
    {
        SuperviseFollowing(now);

        if (_isPlaceUnknown && _node is AxisNode.Ready or AxisNode.Running or AxisNode.Jogging or AxisNode.Halting)
        {
            SeeFault(FaultCode.Encoder, _feedback.ErrorCode, now);
        }

        // Holding its place: what is moved by hand or sinks is no longer where everyone believes it is.
        if (_node == AxisNode.Ready && HasLeftItsPlace)
        {
            SeeFault(FaultCode.StandstillLost, 0, now);
        }

        SuperviseLimits(now);
        SuperviseBrake(now);
        SuperviseHeldLoad(now);
    }

    private bool HasLeftItsPlace => Math.Abs(_scale.ToUnit(Counts - _stayCounts)) > StandstillWindow;

    private double StandstillWindow => StandstillWindowOf(Definition);

    private void WatchMove(TimeSpan now)
    {
        if (!_moveTaken)
        {
            return;
        }

        if (_inHand.Kind == AxisCommandKind.ProveTimeout)
        {
            AwaitSilence(now);
            return;
        }

        if (_inHand.Kind == AxisCommandKind.Contact && TouchesNow(now))
        {
            TakeContact(now);
            return;
        }

        Approach(now);
        LengthenRun(now);
        if (_inHand.Kind == AxisCommandKind.Run || !IsInWindow(now))
        {
            return;
        }

        if (_inHand.Kind != AxisCommandKind.Contact)
        {
            Raise(AxisEvent.Arrived, now);
            BeginWaiting(now);
        }
        else if (Definition.Contact.Missing == ContactFailure.Fault)
        {
            SeeFault(FaultCode.ContactMissing, 0, now);
        }
        else
        {
            FailContact(FaultCode.ContactMissing, now);
        }
    }

    private void FailContact(FaultCode fault, TimeSpan now)
    {
        _contactFault = fault;
        Raise(AxisEvent.Missed, now);
    }

    /// <summary>In the window of the target for the dwell.</summary>
    private bool IsInWindow(TimeSpan now)
    {
        var off = Math.Abs(_scale.ToUnit(Counts - _targetCounts));
        var inside = off <= Definition.InPosition.Window && (!Coding.TellsInPosition || _feedback.Has(DriveFlags.InPosition));
        _inWindowSince = inside ? (_inWindowSince < now ? _inWindowSince : now) : TimeSpan.MaxValue;
        return inside && now - _inWindowSince >= Definition.InPosition.Dwell;
    }

    /// <summary>A contact before the position from which one is expected, seen along the move.</summary>
    private bool IsTooEarly => Definition.Contact.EarlyBefore is { } before && (_scale.Shown(Position) - before) * _moveDirection < 0;

    private void TakeContact(TimeSpan now)
    {
        var isEarly = IsTooEarly;
        if (isEarly && Definition.Contact.Early == ContactFailure.Fault)
        {
            SeeFault(FaultCode.ContactTooEarly, 0, now);
            return;
        }

        _contactPosition = Position;
        _pressing = true;
        if (isEarly)
        {
            FailContact(FaultCode.ContactTooEarly, now);
        }
        else
        {
            Raise(AxisEvent.Arrived, now);
        }

        Begin(DriveGoal.Halt, anew: false, now);
    }
}

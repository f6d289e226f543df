using Supervisor.Configuration.Drives;
using Supervisor.Drives;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Records.Stops;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Stops;

namespace Supervisor.Runtime.Axes;

/// <content>
/// The proof of the drive's own communication time-out: at speed, or at rest, the drive alone is left unasked for longer than its time-out; then it is
/// only read until what it did can be judged.
/// </content>
/// <remarks>
/// The axis stays in its node, so that whatever stops a move stops this as well: its frame goes out at once and ends the proof. The move has its own
/// end, at which a drive that does not act stops by itself. What the drive latched stays latched until a reset, as after a loss of its line.
/// Not a safety function, and no validated measurement of a stop.
/// </remarks>
public sealed partial class Axis
{
    // A drive that tells its speed from few counts never shows quite the speed that was commanded.
    private const double AtSpeedShare = 0.9;

    // What a drive that goes on may lose of its speed by its own ripple.
    private const double GoesOnShare = 0.9;

    // Torque that goes off above this share of the speed was not kept until rest.
    private const double CoastsShare = 0.25;

    private TimeoutPhase _timeoutPhase;
    private MeasuredTimeout _timeout;
    private TimeSpan _silentUntil;
    private double _silentAt;
    private int _timeoutRests;
    private TimeSpan _timeoutRestSeen;
    private double _timeoutSpeed;
    private bool _isActJudged;
    private bool _coasted;
    private bool _isProvoked;
    private bool _isFaultProvoked;

    private enum TimeoutPhase : byte
    {
        None = 0,

        /// <summary>The drive is left unasked.</summary>
        Silent = 1,

        /// <summary>It is asked again, and nothing is written to it.</summary>
        Looking = 2,
    }

    /// <summary>A command to prove the time-out is in hand.</summary>
    private bool ProvesTimeout => _node == AxisNode.Running && _inHand.Kind == AxisCommandKind.ProveTimeout;

    private bool IsTimeoutUnderTest => _timeoutPhase != TimeoutPhase.None;

    private bool IsLookingAtTimeout => _timeoutPhase == TimeoutPhase.Looking;

    private Refusal RefuseTimeoutProof(in AxisCommand command, out double value)
    {
        value = 0;
        return _node != AxisNode.Ready ? _node == AxisNode.Off ? Refusal.NotEnabled : Refusal.AxisBusy
            : !command.Confirmed ? Refusal.NeedsConfirmation
            : Definition.Drive.CommunicationTimeout is null || _pressing ? Refusal.NotSupportedByDrive
            : RefuseMove(command, out value);
    }

    /// <summary>On the way: once at speed, with nothing left to write, the silence begins with the feedback that shows it.</summary>
    private void AwaitSilence(TimeSpan now)
    {
        var isAtSpeed = _inHand.Target == 0 || Math.Abs(_velocity) >= _inHand.Velocity * AtSpeedShare;
        if (isAtSpeed && Image.NextChanged() < 0 && !_limitDue)
        {
            BeginSilence(now);
        }
        else if (_inHand.Target != 0 && IsInWindow(now))
        {
            FailContact(FaultCode.None, now);
        }
    }

    private void BeginSilence(TimeSpan now)
    {
        var port = _board.Machine.Ports[Definition.Port];
        var velocity = Math.Abs(_velocity) < _restVelocity ? 0 : _velocity;
        _timeoutPhase = TimeoutPhase.Silent;
        _silentUntil = now + TimeoutAllowance.Silence(Definition, port);
        _deadline = _silentUntil + TimeoutAllowance.LongestLook(Definition, velocity);
        _silentAt = Position;
        (_timeoutRests, _isActJudged, _coasted) = (0, false, false);
        _timeout = new MeasuredTimeout(
            Index, _inHand.Id, now, Definition.CommunicationTimeout, TimeSpan.Zero, velocity, 0, TimeoutAllowance.Distance(Definition, velocity),
            TimeSpan.MaxValue, TimeSpan.MaxValue) { ActedAfter = TimeSpan.MaxValue };
        _modelRuns = false;
    }

    /// <summary>A new cycle begins: true while the drive has no turn in it.</summary>
    private bool IsLeftUnasked(TimeSpan now)
    {
        if (_timeoutPhase != TimeoutPhase.Silent || now < _silentUntil)
        {
            return _timeoutPhase == TimeoutPhase.Silent;
        }

        // It may have started anew meanwhile, which looks much the same.
        _timeoutPhase = TimeoutPhase.Looking;
        _doubtsRestart = Contact.Uptime is not null;
        _silentFrom = _timeout.SilentFrom;
        return false;
    }

    /// <summary>Something else is done with the axis: it is spoken to again at once.</summary>
    private void EndSilence()
    {
        if (_timeoutPhase != TimeoutPhase.None)
        {
            _timeoutPhase = TimeoutPhase.None;
            BeginMore();
        }
    }

    /// <summary>A feedback after the silence.</summary>
    private void WatchTimeout(TimeSpan now)
    {
        if (!WatchZero(now))
        {
            return;
        }

        SuperviseLimits(now);
        if (!IsLookingAtTimeout)
        {
            return;
        }

        var told = Definition.Drive.FaultCodeOf(_feedback.ErrorCode);
        var isFault = _feedback.Has(DriveFlags.Fault);
        if (isFault && _feedback.ErrorCode != 0 && told is not (FaultCode.DriveCommunicationTimeout or FaultCode.DriveFault))
        {
            // Another reason to stop, which proves nothing.
            SeeFault(told, _feedback.ErrorCode, now);
            return;
        }

        if (AwaitsTimeoutLook)
        {
            // Later than planned where this computer was held up: the drive gets its time all the same.
            _deadline = now + TimeoutAllowance.LongestLook(Definition, _timeout.Velocity);
        }

        Measure(now - _timeout.SilentFrom);
        var hasActed = HasActed(isFault);
        if (!_isActJudged && !hasActed && !double.IsNaN(_timeoutSpeed))
        {
            EndTimeoutProof(TimeoutVerdict.DidNotAct, now);
            return;
        }

        _isActJudged |= hasActed;
        if (_isActJudged && Verdict(now) is var verdict and not TimeoutVerdict.None)
        {
            EndTimeoutProof(verdict, now);
        }
        else
        {
            PassDeadline(now);
        }
    }

    private void Measure(TimeSpan after)
    {
        // A speed that is computed from positions is that of the whole silence at the first look.
        var isTold = !double.IsNaN(_feedback.VelocityCounts) || (_timeout.Silence != TimeSpan.Zero && _speedIsNew);
        _timeoutSpeed = isTold ? Math.Abs(_velocity) : double.NaN;
        var isPowered = _feedback.Has(DriveFlags.Powered);
        _coasted |= !isPowered && _timeoutSpeed > Math.Max(_restVelocity, Math.Abs(_timeout.Velocity) * CoastsShare);
        if (_timeoutSpeed >= _restVelocity)
        {
            _timeoutRests = 0;
        }
        else if (_timeoutSpeed < _restVelocity)
        {
            _timeoutRestSeen = _timeoutRests == 0 ? after : _timeoutRestSeen;
            _timeoutRests++;
        }

        _timeout = _timeout with
        {
            Silence = _timeout.Silence == TimeSpan.Zero ? after : _timeout.Silence,
            Distance = Math.Max(_timeout.Distance, Math.Abs(Position - _silentAt)),
            OffAfter = isPowered || _timeout.OffAfter != TimeSpan.MaxValue ? _timeout.OffAfter : after,
            RestAfter = _timeoutRests >= 2 ? _timeoutRestSeen : TimeSpan.MaxValue,
            DriveCode = _feedback.ErrorCode != 0 ? _feedback.ErrorCode : _timeout.DriveCode,
        };
    }

    /// <summary>Anything that a drive which is spoken to would not show.</summary>
    private bool HasActed(bool isFault) => isFault || !_feedback.Has(DriveFlags.Powered) || _feedback.Has(DriveFlags.QuickStop)
        || (_timeout.Velocity != 0 && _timeoutSpeed < Math.Abs(_timeout.Velocity) * GoesOnShare && !IsAtTarget);

    /// <summary>Where anything stops.</summary>
    private bool IsAtTarget => Math.Abs(_scale.ToUnit(Counts - _targetCounts)) <= Definition.InPosition.Window;

    /// <summary>What is seen so far comes to; none while it may still end either way.</summary>
    private TimeoutVerdict Verdict(TimeSpan now)
    {
        var rests = _timeout.RestAfter != TimeSpan.MaxValue;
        var isOff = _timeout.OffAfter != TimeSpan.MaxValue;
        var reaction = Definition.Drive.CommunicationTimeout!.Reaction;
        if (reaction == TimeoutReaction.TorqueOff)
        {
            return isOff && rests ? TimeoutVerdict.Passed : TimeoutVerdict.None;
        }

        if (_coasted || (isOff && reaction == TimeoutReaction.QuickStopThenHold))
        {
            return TimeoutVerdict.OtherReaction;
        }

        if (_timeout.Distance > _timeout.Allowed
            || _timeoutSpeed > Math.Max(_restVelocity, TimeoutAllowance.SpeedLeft(Definition, _timeout.Velocity, now - _timeout.SilentFrom)))
        {
            return TimeoutVerdict.TooLate;
        }

        return rests && (isOff || reaction == TimeoutReaction.QuickStopThenHold) ? TimeoutVerdict.Passed : TimeoutVerdict.None;
    }

    /// <summary>Where nothing was seen since the silence nothing can be told late: a drive that does not answer is lost, and a pause of this computer is no fault of the drive.</summary>
    private bool AwaitsTimeoutLook => IsTimeoutUnderTest && _timeout.Silence == TimeSpan.Zero;

    /// <summary>The proof's deadline passes: it is judged by what was seen.</summary>
    private void EndOverdueTimeoutProof(TimeSpan now)
    {
        // What only lets go of its torque may coast for long.
        var coasts = Definition.Drive.CommunicationTimeout!.Reaction == TimeoutReaction.TorqueOff && _timeout.OffAfter != TimeSpan.MaxValue;
        var holds = Definition.Drive.CommunicationTimeout.Reaction != TimeoutReaction.QuickStopThenHold && _timeout.OffAfter == TimeSpan.MaxValue
            && _timeout.RestAfter != TimeSpan.MaxValue;
        EndTimeoutProof(coasts ? TimeoutVerdict.Passed : holds ? TimeoutVerdict.OtherReaction : TimeoutVerdict.TooLate, now);
    }

    private void EndTimeoutProof(TimeoutVerdict verdict, TimeSpan now)
    {
        var speed = Math.Abs(_timeout.Velocity);
        var acted = (_timeout.Distance - TimeoutAllowance.Ramp(Definition, speed)) / speed;
        var isTold = verdict == TimeoutVerdict.Passed && acted > 0 && double.IsFinite(_timeout.Allowed) && double.IsFinite(acted);
        _timeout = _timeout with { Verdict = verdict, ActedAfter = isTold ? TimeSpan.FromSeconds(acted) : TimeSpan.MaxValue };
        _channel.Timeouts.TryWrite(_timeout);
        if (verdict != TimeoutVerdict.Passed)
        {
            SeeFault(FaultCode.CommunicationTimeoutFailed, _timeout.DriveCode, now);
            return;
        }

        // The drive stopped as it was to: the command is done, and what it latched is latched here, told nobody as a fault.
        End(Outcome.Done, Refusal.None, FaultCode.None, _timeout.Distance, now);
        _isProvoked = true;
        SeeFault(FaultCode.DriveCommunicationTimeout, _timeout.DriveCode, now);
        _isProvoked = false;
    }
}

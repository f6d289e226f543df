using Supervisor.Configuration.Machines;
using Supervisor.Drives;
using Supervisor.Drives.Coding;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Contact;

namespace Supervisor.Runtime.Axes;

/// <summary>How far a drive is met.</summary>
internal enum MeetingStage : byte
{
    /// <summary>The stop went out or is about to; the feedback is read for the first time.</summary>
    Look = 0,

    /// <summary>Identity and parameters are asked, compared and set.</summary>
    Ask = 1,

    /// <summary>The whole command image is written, then read against.</summary>
    Set = 2,

    /// <summary>Met: exchanged every cycle.</summary>
    Met = 3,
}

/// <content>How a drive is met: looked at, asked, set, and only then online.</content>
public sealed partial class Axis
{
    // From the first refusal of a drive that has to be unlocked; three tries, common practice without a source.
    private static readonly TimeSpan UnlockPatience = TimeSpan.FromSeconds(3);
    
    private FirstContact? _contact;
    private DriveClock _driveClock;
    private uint _serialNumber;
    private bool _serialKnown;
    private MeetingStage _meeting;
    private bool _ranThrough;
    private TimeSpan? _lockedSince;
    private IdentityDifference _seenIdentity;

    private FirstContact Contact => _contact ??= new FirstContact(Coding.Plan, Definition);

    /// <summary>The port was opened: whatever the drive did, it is asked at once.</summary>
    internal void Reopened(TimeSpan now)
    {
        _missesInARow = 0;
        _unanswered = 0;
        NextPoll = now;
        MeetAnew(now);
    }

    /// <summary>The drive is met, or met again: the first frame is the stop, or a read where its definition says so.</summary>
    internal void MeetAnew(TimeSpan now)
    {
        DropPowerAfterSilence(now);
        AbandonMeasuredStop();
        Online = false;
        _meeting = MeetingStage.Look;
        _looksFirst = false;
        _readBlock = 0;
        _attempts = 0;

        // Rest is two feedbacks in a row: one from before the silence is none of them.
        _still = 0;
        Image.Forget();
        BreakParameterWork(now);
        LoseOutputs();
        RestartContact(mayWrite: true, unlocks: true);
        _progress = new GoalProgress { Goal = FirstGoal, Since = now };
        Coding.Pursue(ref _progress, _feedback, fresh: false, now, Image);
        _stopDue = !LooksBeforeFirstStop;
        _rampDue = false;
        _rampMisses = 0;
        StopAttempts = 0;
        Publish();
    }

    /// <summary>The drive was read for the first time: the image is set up from what it says.</summary>
    private void EndLooking(TimeSpan now)
    {
        // Nothing is known before it: the counter begins here.
        if (!IsCountedOn)
        {
            _counter.Forget();
        }

        TakeFeedback(now);
        Coding.Prepare(Image, _feedback);
        if (_node == AxisNode.FaultHolding)
        {
            MeetHeldLoad(now);
        }
        else
        {
            _stopDue |= Coding.LooksBeforeStop && _feedback.Has(DriveFlags.Powered) && MayMove;
        }

        _meeting = MeetingStage.Ask;
        if (Contact.IsComplete)
        {
            EndAsking(now);
        }
    }

    /// <summary>By the one feedback there is; a drive that tells neither speed nor motion counts as moving.</summary>
    private bool MayMove => _feedback.Has(DriveFlags.Moving) || Math.Abs(_velocity) >= _restVelocity || !Coding.TellsMotion;

    private void TakeContact(ContactResult result, TimeSpan now)
    {
        // A comparison of a drive that is met takes no exchange's place.
        _exchanged |= !Online;
        _seenIdentity = result is ContactResult.Rejected or ContactResult.OtherKind ? Contact.Identity : default;
        if (result == ContactResult.Rejected)
        {
            _isComparing = false;
            Refused(now);
        }
        else if (result == ContactResult.OtherKind)
        {
            _referenced = false;
            SeeFault(FaultCode.WrongIdentity, 0, now);
            MeetAgainLater(now);
        }
        else if (result == ContactResult.Complete && Online)
        {
            JudgeParameters(now);
            Publish();
        }
        else if (result == ContactResult.Complete)
        {
            EndAsking(now);
        }

        _seenIdentity = default;
    }

    /// <summary>The drive answers, but not as it must: a fault, and where it is not met yet, another try a little later.</summary>
    private void Refused(TimeSpan now)
    {
        if (!IsUnlocking(now))
        {
            SeeFault(FaultCode.RequestRejected, 0, now);
        }

        if (!Online)
        {
            MeetAgainLater(now);
        }
    }

    private void MeetAgainLater(TimeSpan now)
    {
        MeetAnew(now);
        NextPoll = now + SlowestPoll;
    }

    /// <summary>A drive may take a while from its last key to its first command: what it refuses meanwhile is no fault yet.</summary>
    private bool IsUnlocking(TimeSpan now)
    {
        if (Online || Coding.Plan.Drive.Unlock is null)
        {
            return false;
        }

        _lockedSince ??= now;
        return now - _lockedSince < UnlockPatience;
    }

    /// <summary>Identity and parameters are known: what outputs are read back comes before anything is written.</summary>
    private void EndAsking(TimeSpan now)
    {
        if (!ReadsOutputs)
        {
            BeginSet(now);
        }
    }

    /// <summary>Everything the drive will hold is laid out for standing where it is; nothing in it starts a motion.</summary>
    private void BeginSet(TimeSpan now)
    {
        _meeting = MeetingStage.Set;
        _targetCounts = Counts;
        _hasTarget = false;
        _wayKnown = false;
        _ranThrough = Contact.Uptime is { } uptime && _driveClock.ProvesNoGap(uptime, now);
        if (!_ranThrough)
        {
            Coding.ClearOutputs(Image);
        }

        PutFoundOutputs(now);
        Coding.PutMove(Image, Counts, _scale.ToCountRate(Definition.Limits.Velocity),
            _scale.ToCountRate(Definition.Limits.Acceleration), _scale.ToCountRate(Definition.Limits.Deceleration));
        Coding.PutTorqueLimit(Image, _node == AxisNode.FaultHolding ? TorqueLimits.Holding : TorqueLimits.Stopping);
    }

    /// <summary>The drive was read after its image was written: it is met, unless something was refused.</summary>
    private void EndSetting(TimeSpan now)
    {
        var isRefused = Image.NextChanged() >= 0;
        TakeFeedback(now);
        if (isRefused)
        {
            // Not met before the drive holds everything.
            return;
        }

        if (_feedback.Has(DriveFlags.Locked))
        {
            Refused(now);
            return;
        }

        _meeting = MeetingStage.Met;
        _lockedSince = null;
        Online = true;
        _silentFrom = null;
        Judge(now);
        JudgeParameters(now);
        HoldMetLoad(now);
        Raise(AxisEvent.Contacted, now);
        Publish();
    }

    /// <summary>An endless axis that knows its zero goes on counting over a silence: its register has gone round before and would tell another angle.</summary>
    private bool IsCountedOn => _scale.Period != 0 && _referenced && Definition.Reference == ReferenceKind.Incremental;

    private void DriveRestarted(TimeSpan now)
    {
        if (Definition.Reference == ReferenceKind.Incremental)
        {
            _referenced = false;
        }

        SeeFault(FaultCode.DriveRestarted, 0, now);
        Coding.DropPower(Image);
        Coding.ClearOutputs(Image);
        MeetAnew(now);
    }
}

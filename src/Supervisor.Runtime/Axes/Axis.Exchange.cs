using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Drives;
using Supervisor.Drives.Coding;
using Supervisor.Records.Faults;
using Supervisor.Records.Tracing;
using Supervisor.Runtime.Contact;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Runtime.Axes;

/// <summary>What a transaction of an axis is for.</summary>
internal enum AxisRequest : byte
{
    None = 0,
    Stop = 1,
    Write = 2,
    Read = 3,
    WriteRead = 4,
    Contact = 5,
    Uptime = 6,
    TorqueLimit = 7,
    Parameter = 8,

    /// <summary>The ramp that a stop brakes on, ahead of its frame.</summary>
    StopRamp = 9,

    /// <summary>Outputs read back at a meeting.</summary>
    Outputs = 10,
}

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

/// <content>The axis on the wire: stop frames, first contact, the exchange of a cycle, and what a missing reply leads to.</content>
public sealed partial class Axis
{
    private static readonly TimeSpan UptimeInterval = TimeSpan.FromSeconds(1);
    private static readonly TimeSpan SlowestPoll = TimeSpan.FromSeconds(1);

    // From the first refusal of a drive that has to be unlocked; three tries, common practice without a source.
    private static readonly TimeSpan UnlockPatience = TimeSpan.FromSeconds(3);
    private const int MissesForLoss = 2;
    private const int RejectionsForFault = 3;

    // A stop that is not answered goes out once more at once; after that it takes its turn, so that its neighbours keep theirs.
    private const int UrgentStopAttempts = 2;

    private FirstContact? _contact;
    private DriveClock _driveClock;
    private uint _serialNumber;
    private bool _serialKnown;
    private MeetingStage _meeting;
    private bool _doubtsRestart;
    private bool _looksFirst;
    private TimeSpan? _silentFrom;
    private bool _stopDue;
    private bool _stopTried;
    private bool _rampDue;
    private int _rampMisses;
    private bool _writeBarred;
    private int _writes;
    private bool _ranThrough;
    private double _stopSpeed;
    private bool _exchanged;
    private TimeSpan? _lockedSince;
    private int _readBlock;
    private int _attempts;
    private int _rejections;
    private int _readRejections;
    private int _missesInARow;
    private int _unanswered;
    private TimeSpan _refreshedAt;
    private TimeSpan _writtenAt;
    private TimeSpan _slowAskedAt;

    /// <summary>Unit address on the line.</summary>
    internal byte Unit => Definition.Address;

    /// <summary>A stop frame has to go out now, before anything else. One that went unheard twice takes its turn in the cycle.</summary>
    internal bool IsStopUrgent => _stopDue && StopAttempts < UrgentStopAttempts && (Online || !IsMissing);

    /// <summary>Stop frames sent since the stop began and not confirmed: others go first.</summary>
    internal int StopAttempts { get; private set; }

    /// <summary>Frames of its stop that were lost so far, a ramp ahead of it among them: who lost fewer goes first.</summary>
    internal int StopTurn => StopAttempts + _rampMisses;

    /// <summary>This cycle's exchange is due: not done, not given up.</summary>
    internal bool IsExchangeDue => !_exchanged;

    /// <summary>When its last exchange ended, well or not: who waited longest is next.</summary>
    internal TimeSpan ExchangedAt { get; private set; }

    /// <summary>It did not answer the last time: it costs a time-out to ask, so others go first.</summary>
    internal bool IsMissing => _unanswered > 0;

    /// <summary>When a silent drive is asked again.</summary>
    internal TimeSpan NextPoll { get; private set; }

    /// <summary>The image changed since this cycle's exchange, or the drive is being met: a second one is worth its time.</summary>
    internal bool WantsMore => !_stopDue && !IsTimeoutUnderTest && !_writeBarred && !IsMissing && (Online ? Image.NextChanged() >= 0 || AwaitsTorqueLimit : _meeting != MeetingStage.Look);

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

    /// <summary>Silent long enough for its own reaction, or for a restart as far as its definition tells how long one takes.</summary>
    private bool IsSilentForLong(TimeSpan now) =>
        now - _freshAt > Definition.CommunicationTimeout || (Definition.Drive.ShortestStart is { } start && now - _freshAt > start);

    /// <summary>After such a silence a power bit left standing would energise the drive, in a stop frame as well; whether it is met already or anew.</summary>
    private void DropPowerAfterSilence(TimeSpan now)
    {
        if (IsSilentForLong(now))
        {
            Coding.DropPower(Image);
        }
    }

    /// <summary>A new cycle begins.</summary>
    /// <param name="cycle">Its number, for the samples.</param>
    /// <param name="now">Monotonic time.</param>
    internal void BeginCycle(uint cycle, TimeSpan now)
    {
        if (!_exchanged && _misses > 0)
        {
            // Its repeats did not fit into the cycle.
            Trace(_lastResult, now);
        }

        _cycle = cycle;
        _misses = 0;
        LookAtJob(now);

        // What an overrun cut short goes on where it was: from the start again it might never end.
        _readBlock = _exchanged ? 0 : _readBlock;
        _exchanged = (!Online && now < NextPoll) || IsLeftUnasked(now);
        _attempts = 0;
        _stopTried = false;
        _writeBarred = false;
        var refresh = Coding.Plan.Drive.Refresh;
        if (Online && refresh > TimeSpan.Zero && now - _refreshedAt >= refresh)
        {
            Image.Forget();
            _refreshedAt = now;
        }

        if (Online && Coding.Plan.Drive.CommunicationTimeout?.FedBy == TimeoutFeed.Write && now - _writtenAt >= Definition.CommunicationTimeout / 3)
        {
            Image.DoubtControl();
        }
    }

    /// <summary>A second exchange in the same cycle.</summary>
    internal void BeginMore()
    {
        _exchanged = false;
        _readBlock = 0;
        _attempts = 0;
    }

    /// <summary>Fills in the stop frame.</summary>
    internal AxisRequest AskStop(Transaction transaction, TimeSpan now)
    {
        if (_rampDue)
        {
            Coding.WriteRamp(Image, transaction, Unit);
            return AxisRequest.StopRamp;
        }

        DropPowerAfterSilence(now);
        Image.WriteControl(transaction, Unit);
        return AxisRequest.Stop;
    }

    /// <summary>Fills in a quick stop, whatever the axis is doing.</summary>
    internal void AskLastStop(Transaction transaction, TimeSpan now)
    {
        if (_node != AxisNode.FaultHolding)
        {
            // A held load keeps the word that holds it.
            _progress = new GoalProgress { Goal = DriveGoal.QuickStop };
            Coding.Pursue(ref _progress, _feedback, fresh: false, now, Image);
        }

        DropPowerAfterSilence(now);
        Image.WriteControl(transaction, Unit);
    }

    /// <summary>Fills in what the exchange needs next.</summary>
    internal AxisRequest AskExchange(Transaction transaction, TimeSpan now)
    {
        if (_stopDue && !_stopTried)
        {
            return AskStop(transaction, now);
        }

        if (_doubtsRestart && Online && Contact.Uptime is { } uptime)
        {
            // Before anything else is told to it.
            uptime.Read(transaction, Unit);
            return AxisRequest.Uptime;
        }

        if (ReadsOutputs)
        {
            AskOutputs(transaction);
            return AxisRequest.Outputs;
        }

        if (_meeting == MeetingStage.Ask)
        {
            Contact.Ask(transaction, Unit);
            return AxisRequest.Contact;
        }

        var plan = Coding.Plan;
        // Commands may come faster than they are written: after each block and a step of a handshake the feedback has its turn.
        // A drive in doubt is looked at before it is told anything: what it was told last may energise it anew.
        var isInDoubt = Online && (_looksFirst || IsSilentForLong(now));
        var mayWrite = _meeting != MeetingStage.Look && !_writeBarred && !isInDoubt && !IsTimeoutUnderTest && _writes <= plan.CommandBlocks.Length;
        var changed = mayWrite ? Image.NextChanged() : -1;
        if (changed >= 0 && plan.WritesInOneReadWrite && _readBlock == 0)
        {
            Image.WriteAndRead(transaction, Unit);
            return AxisRequest.WriteRead;
        }

        if (changed >= 0)
        {
            Image.Write(transaction, Unit, changed);
            return AxisRequest.Write;
        }

        if (_limitDue && Online && _readBlock == 0 && !_writeBarred && !isInDoubt)
        {
            _limitBack!.Read(transaction, Unit);
            return AxisRequest.TorqueLimit;
        }

        var block = plan.FeedbackBlocks[_readBlock];
        transaction.Read(Unit, block.ReadFunction, block.Start, block.Count);
        return AxisRequest.Read;
    }

    /// <summary>Fills in a slow request when one is due.</summary>
    internal AxisRequest AskSlow(Transaction transaction, TimeSpan now)
    {
        var isDue = _doubtsRestart || (now - _driveClock.At >= UptimeInterval && now - _slowAskedAt >= UptimeInterval);
        if (!Online || IsMissing || IsTimeoutUnderTest)
        {
            return AxisRequest.None;
        }

        if (Contact.Uptime is not { } uptime || !isDue)
        {
            return AskParameter(transaction, now);
        }

        uptime.Read(transaction, Unit);
        return AxisRequest.Uptime;
    }

    /// <summary>Takes the end of a transaction.</summary>
    /// <param name="request">What it was for.</param>
    /// <param name="transaction">How it ended.</param>
    /// <param name="retries">Repeats left to the port's setting; a trip cancels them.</param>
    /// <param name="now">Monotonic time.</param>
    internal void Completed(AxisRequest request, Transaction transaction, int retries, TimeSpan now)
    {
        _slowAskedAt = request == AxisRequest.Uptime ? now : _slowAskedAt;
        FollowStopRamp(request, transaction);
        _jobRequests += request is AxisRequest.Parameter or AxisRequest.Contact ? 1 : 0;
        NoteExchange(transaction);
        switch (transaction.Result)
        {
            case TransactionResult.Reply:
                _doubtsRestart &= request != AxisRequest.Uptime;
                NoteReply(request, now);
                Answered(request, transaction, now);
                break;
            case TransactionResult.ExceptionReply when !IsBusy(transaction.ExceptionCode):
                _doubtsRestart &= request != AxisRequest.Uptime;
                Rejected(request, transaction, now);
                break;
            default:
                TakeSilence(request, transaction, now);
                Missed(request, retries, now);
                break;
        }

        ExchangedAt = _exchanged ? now : ExchangedAt;
    }

    /// <summary>A write that wears the drive's memory is not repeated before it was looked at; "busy" says that it was not taken.</summary>
    internal void TakeSilence(AxisRequest request, Transaction transaction, TimeSpan now)
    {
        var isBusy = transaction.Result == TransactionResult.ExceptionReply;
        if (request == AxisRequest.Parameter && _run.Job is not null)
        {
            _run.TakeSilence(isBusy, now);
        }
        else if (request == AxisRequest.Contact && !isBusy)
        {
            Contact.TakeSilence();
        }
    }

    private void NoteReply(AxisRequest request, TimeSpan now)
    {
        _missesInARow = 0;
        _unanswered = 0;
        if (request == AxisRequest.Read)
        {
            _readRejections = 0;
        }
        else
        {
            _rejections = 0;
        }

        if (request is AxisRequest.Stop or AxisRequest.Write or AxisRequest.WriteRead)
        {
            _writtenAt = now;
        }
    }

    private bool IsBusy(byte exception)
    {
        var busy = Coding.Plan.Drive.Wire.BusyExceptions;
        for (var i = 0; i < busy.Count; i++)
        {
            if (busy[i] == exception)
            {
                return true;
            }
        }

        return false;
    }

    private void Answered(AxisRequest request, Transaction transaction, TimeSpan now)
    {
        var blocks = Coding.Plan.FeedbackBlocks;
        switch (request)
        {
            case AxisRequest.Stop:
                Image.ConfirmControl();
                _stopDue = false;
                StopAttempts = 0;
                if (Online && _progress.Goal == DriveGoal.CutPower && Image.NextChanged() >= 0)
                {
                    // The bit that holds torque on may stand in another register than the one that stops.
                    BeginMore();
                }

                break;
            case AxisRequest.StopRamp:
                Coding.ConfirmRamp(Image);
                break;
            case AxisRequest.Write:
                Image.Confirm(Image.NextChanged());
                _writes++;
                _attempts = 0;
                if (Online)
                {
                    Pursue(fresh: false, now);
                }

                break;
            case AxisRequest.WriteRead:
                Image.Confirm(0);
                TakeRegisters(transaction, blocks[0].Offset, blocks[0].Count);
                FeedbackComplete(now);
                break;
            case AxisRequest.Read:
                TakeRegisters(transaction, blocks[_readBlock].Offset, blocks[_readBlock].Count);
                _attempts = 0;
                _readBlock++;
                if (_readBlock == blocks.Length)
                {
                    FeedbackComplete(now);
                }

                break;
            case AxisRequest.TorqueLimit:
                _attempts = 0;
                TakeTorqueLimit(transaction, now);
                break;
            case AxisRequest.Contact:
                TakeContact(Contact.Take(transaction), now);
                break;
            case AxisRequest.Outputs:
                TakeOutputs(transaction, now);
                break;
            case AxisRequest.Parameter:
                TakeParameter(transaction, now);
                break;
            case AxisRequest.Uptime:
                Contact.Uptime!.TakeReply(transaction);
                // A drive that started within its silence can't have run for longer than that.
                var silence = _silentFrom is { } from ? now - from : TimeSpan.Zero;
                _silentFrom = null;
                if (!_driveClock.RanThrough(Contact.Uptime, transaction.BegunAt, now) || _driveClock.UptimeMs < silence.TotalMilliseconds)
                {
                    DriveRestarted(now);
                }

                break;
        }
    }

    private void TakeRegisters(Transaction transaction, int offset, int count)
    {
        for (var i = 0; i < count; i++)
        {
            _registers[offset + i] = transaction.ReplyRegister(i);
        }
    }

    /// <summary>All blocks are read: the feedback of an exchange, or the first or last reading of a meeting.</summary>
    private void FeedbackComplete(TimeSpan now)
    {
        _exchanged = true;
        _looksFirst = false;
        _readBlock = 0;
        _writes = 0;
        if (_meeting == MeetingStage.Look)
        {
            // Nothing is known before it: the counter begins here, and the image is set up from it.
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
        else if (_meeting == MeetingStage.Set && Image.NextChanged() >= 0)
        {
            // Something was refused: not met before the drive holds everything.
            TakeFeedback(now);
        }
        else if (_meeting == MeetingStage.Set)
        {
            TakeFeedback(now);
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
        else
        {
            TakeFeedback(now);
            if (Online && _feedback.Has(DriveFlags.Locked))
            {
                // It takes nothing but a stop any more.
                SeeFault(FaultCode.RequestRejected, 0, now);
                MeetAnew(now);
            }
        }
    }

    /// <summary>By the one feedback there is; a drive that tells neither speed nor motion counts as moving.</summary>
    private bool MayMove => _feedback.Has(DriveFlags.Moving) || Math.Abs(_velocity) >= _restVelocity || !Coding.TellsMotion;

    private void TakeContact(ContactResult result, TimeSpan now)
    {
        // A comparison of a drive that is met takes no exchange's place.
        _exchanged |= !Online;
        if (result == ContactResult.Rejected)
        {
            _isComparing = false;
            Refused(now);
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
            MeetAnew(now);
            NextPoll = now + SlowestPoll;
        }
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

    private void Rejected(AxisRequest request, Transaction transaction, TimeSpan now)
    {
        _missesInARow = 0;
        _unanswered = 0;
        switch (request)
        {
            case AxisRequest.Contact:
                TakeContact(Contact.TakeException(), now);
                return;
            case AxisRequest.Outputs:
                TakeContact(ContactResult.Rejected, now);
                return;
            case AxisRequest.Parameter:
                TakeParameter(transaction, now);
                return;
            case AxisRequest.Read:
                _exchanged = true;
                _readRejections++;
                Trace(ExchangeResult.Refused, now);
                break;
            case AxisRequest.Stop:
                StopAttempts++;
                _stopTried = true;
                _rejections++;
                break;
            case AxisRequest.StopRamp:
                // Its own ramp then; the stop is next.
                return;
            default:
                // Whatever is refused, the feedback of this cycle is still read: it carries inputs that others depend on.
                _writeBarred = true;
                _rejections++;
                break;
        }

        if (_rejections >= RejectionsForFault || _readRejections >= RejectionsForFault)
        {
            _rejections = 0;
            _readRejections = 0;
            Refused(now);
        }

        if (Online && now - _freshAt >= LinkPatience)
        {
            LoseLink(now);
        }
    }

    private void Missed(AxisRequest request, int retries, TimeSpan now)
    {
        _unanswered++;
        NoteMiss();
        Doubt(request);
        if (request == AxisRequest.StopRamp)
        {
            // The stop itself does not wait for it.
            return;
        }

        // No drive starts anew within two cycles; in a longer silence it may have, and lost its zero and its own time-out with it.
        if (Online && _unanswered >= MissesForLoss && now - _freshAt > _board.Machine.Ports[Definition.Port].Cycle * 2)
        {
            (_doubtsRestart, _mayHaveRestarted) = (true, true);
            _looksFirst = true;
            _silentFrom ??= _freshAt;
        }

        if (request == AxisRequest.Stop)
        {
            StopAttempts++;
        }

        // A cycle may have no time for all repeats, and the next one counts them anew: silence is measured in time.
        // It counts as the drive's only where the drive was asked more than once: a pause of this computer's own is none.
        // A drive that saves its parameters may be silent for as long as its definition says.
        var isLost = Online && now - _freshAt >= LinkPatience && _unanswered >= MissesForLoss && now >= _run.BusyUntil;
        if (request != AxisRequest.Stop && _attempts++ < retries && !isLost)
        {
            return;
        }

        _exchanged = true;
        _missesInARow++;
        Trace(_lastResult, now);
        if (isLost)
        {
            LoseLink(now);
        }
        else if (!Online)
        {
            // A silent drive is asked ever more seldom, so that its neighbours do not starve; and met anew when it answers.
            MeetAnew(now);
            NextPoll = now + (_missesInARow < 4 ? TimeSpan.Zero : TimeSpan.FromMilliseconds(Math.Min(SlowestPoll.TotalMilliseconds, 50 << Math.Min(_missesInARow - 4, 5))));
        }
    }

    /// <summary>A write without an answer may have arrived or not: what the drive holds now is unknown.</summary>
    private void Doubt(AxisRequest request)
    {
        if (request == AxisRequest.Stop)
        {
            Image.DoubtControl();
        }
        else if (request is AxisRequest.Write or AxisRequest.WriteRead)
        {
            Image.Doubt(request == AxisRequest.Write ? Image.NextChanged() : 0);
        }
    }

    private TimeSpan LinkPatience
    {
        get
        {
            var cycles = _board.Machine.Ports[Definition.Port].Cycle * 3;
            var half = Definition.CommunicationTimeout / 2;
            return cycles > half ? cycles : half;
        }
    }

    /// <summary>The drive no longer answers, or its port is gone. Its own time-out stops it; here it counts as faulted.</summary>
    internal void LoseLink(TimeSpan now)
    {
        if (_node != AxisNode.Connecting)
        {
            SeeFault(FaultCode.LinkLost, 0, now);
        }

        MeetAnew(now);
        Trace(ExchangeResult.LinkGone, now);
    }

    /// <summary>A stop begins, or ends because something else was commanded.</summary>
    private void BeginStop(DriveGoal goal)
    {
        var isStop = goal is DriveGoal.QuickStop or DriveGoal.Halt or DriveGoal.CutPower;
        if (!isStop && goal is DriveGoal.Hold or DriveGoal.PowerOff)
        {
            // What only follows a stop does not call back one that has not gone out yet.
            return;
        }

        if (isStop)
        {
            // A target that has not gone out must not follow the stop to the drive.
            Coding.WithdrawMove(Image);
        }

        _stopDue = isStop;
        StopAttempts = 0;
        _stopSpeed = Math.Abs(_velocity);
        _rampDue = false;
        _rampMisses = 0;
    }

    /// <summary>A stop frame is repeated until the feedback shows that it worked: slower than at its start, or torque off.</summary>
    private void FollowStop()
    {
        var stopping = _progress.Goal is DriveGoal.QuickStop or DriveGoal.Halt or DriveGoal.CutPower;
        var speed = Math.Abs(_velocity);
        if (Online && !_stopDue && _progress.Goal == DriveGoal.CutPower && _feedback.Has(DriveFlags.Powered))
        {
            _stopDue = true;
        }
        else if (Online && stopping && !_stopDue && _feedback.Has(DriveFlags.Powered) && speed > _restVelocity && speed > _stopSpeed * 0.95)
        {
            _stopDue = true;
        }
    }
}

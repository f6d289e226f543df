using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;
using Supervisor.Drives;
using Supervisor.Drives.Coding;
using Supervisor.Records.Faults;

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

/// <content>The exchange of a cycle: what is asked, in which order, and what an answer leads to.</content>
public sealed partial class Axis
{
    private static readonly TimeSpan UptimeInterval = TimeSpan.FromSeconds(1);
    
    private int _writes;
    private bool _writeBarred;
    private bool _exchanged;
    private int _readBlock;
    private int _attempts;
    private TimeSpan _refreshedAt;
    private TimeSpan _writtenAt;
    private TimeSpan _slowAskedAt;

    /// <summary>Unit address on the line.</summary>
    internal byte Unit => Definition.Address;

    /// <summary>This cycle's exchange is due: not done, not given up.</summary>
    internal bool IsExchangeDue => !_exchanged;

    /// <summary>When its last exchange ended, well or not: who waited longest is next.</summary>
    internal TimeSpan ExchangedAt { get; private set; }

    /// <summary>The image changed since this cycle's exchange, or the drive is being met: a second one is worth its time.</summary>
    internal bool WantsMore => !_stopDue && !IsTimeoutUnderTest && !_writeBarred && !IsMissing && (Online ? Image.NextChanged() >= 0 || AwaitsTorqueLimit : _meeting != MeetingStage.Look);

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
                Missed(request, transaction.Fault, retries, now);
                break;
        }

        if (_exchanged)
        {
            EndPause(now);
            ExchangedAt = now;
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
        EndPause(now);
        _exchanged = true;
        _looksFirst = false;
        _readBlock = 0;
        _writes = 0;
        switch (_meeting)
        {
            case MeetingStage.Look:
                EndLooking(now);
                break;
            case MeetingStage.Set:
                EndSetting(now);
                break;
            default:
                TakeFeedback(now);
                if (Online && _feedback.Has(DriveFlags.Locked))
                {
                    // It takes nothing but a stop any more.
                    SeeFault(FaultCode.RequestRejected, 0, now);
                    MeetAnew(now);
                }

                break;
        }
    }
}

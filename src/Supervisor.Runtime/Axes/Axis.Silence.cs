using Supervisor.Bus.Rtu;
using Supervisor.Records.Faults;
using Supervisor.Records.Tracing;
using Supervisor.Runtime.Contact;

namespace Supervisor.Runtime.Axes;

/// <content>What a missing or refused reply leads to, and how seldom a silent drive is asked.</content>
public sealed partial class Axis
{
    private const int MissesForLoss = 2;
    private const int RejectionsForFault = 3;
    private static readonly TimeSpan SlowestPoll = TimeSpan.FromSeconds(1);
    
    private bool _doubtsRestart;
    private bool _looksFirst;
    private TimeSpan? _silentFrom;
    private int _rejections;
    private int _readRejections;
    private int _missesInARow;
    private int _unanswered;

    /// <summary>It did not answer the last time: it costs a time-out to ask, so others go first.</summary>
    internal bool IsMissing => _unanswered > 0;

    /// <summary>Failed among its last exchanges, percent.</summary>
    internal double ErrorPercent { get; set; }

    /// <summary>What it does not answer now says nothing about its line: it saves its parameters, or is left unasked on purpose.</summary>
    internal bool MayBeSilent(TimeSpan now) => IsTimeoutUnderTest || now < _run.BusyUntil;

    /// <summary>When a silent drive is asked again.</summary>
    internal TimeSpan NextPoll { get; private set; }

    private TimeSpan LinkPatience
    {
        get
        {
            var cycles = _board.Machine.Ports[Definition.Port].Cycle * 3;
            var half = Definition.CommunicationTimeout / 2;
            return cycles > half ? cycles : half;
        }
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

    private void Missed(AxisRequest request, FrameFault fault, int retries, TimeSpan now)
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
            if (fault == FrameFault.OwnRequest)
            {
                // Only what has another answer shows whether the adapter still hears itself.
                _stopTried = true;
                return;
            }
        }

        // A cycle may have no time for all repeats, and the next one counts them anew: silence is measured in time.
        // It counts as the drive's only where the drive was asked more than once: a pause of this computer's own is none.
        // A drive that saves its parameters may be silent for as long as its definition says.
        var isLost = Online && now - _freshAt >= LinkPatience && _unanswered >= MissesForLoss && now >= _run.BusyUntil;
        // One that is only looked for is not asked with repeats: each costs its neighbours a time-out.
        var isRepeated = Online || _missesInARow == 0;
        if (request != AxisRequest.Stop && _attempts++ < retries && isRepeated && !isLost)
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
}

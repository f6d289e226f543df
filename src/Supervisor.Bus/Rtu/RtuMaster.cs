using Supervisor.Bus.Links;

namespace Supervisor.Bus.Rtu;

/// <summary>The asking side of a line as a step machine: one attempt of one transaction at a time, no I/O, no clock, no allocation.</summary>
/// <remarks>
/// <para>A reply says neither which request it answers nor when that was asked. So that a late, foreign, cut or too long one is never taken for the
/// next one's: input is thrown away before each request until the line is silent; after a request that was not answered whole, none whose reply
/// would look the same is sent before the late window has passed; and a late reply of another shape that comes meanwhile is known and skipped.
/// A reply that is later than its time-out and the window together can still be taken for the next of its shape: the time-out must be at least
/// half of the longest delay that a line's adapter and drives show.</para>
/// <para>Nor is a request taken for its own reply that the adapter hears while it sends (<see cref="HearsItself"/>): it is put aside, the line kept free
/// for the answer behind it, and the exchange fails with <see cref="FrameFault.OwnRequest"/>.</para>
/// <para>Driver: <see cref="Begin"/>, then do what <see cref="Next"/> says until it says <see cref="MasterAction.Done"/>. When the device goes
/// away in any step: <see cref="LinkGone"/>.</para>
/// </remarks>
public sealed class RtuMaster
{
    private readonly byte[] _buffer = new byte[2 * Transaction.MaximumFrameBytes];
    private readonly LateReplies _late = new();
    private readonly OwnRequests _own = new();
    private readonly TimeSpan? _lateWindow;
    private Transaction? _current;
    private State _state;
    private int _length;
    private TimeSpan _lineFree;
    private TimeSpan _startAt;
    private TimeSpan _sendAnywayAt;
    private TimeSpan _deadline;

    /// <summary>A master on a line.</summary>
    /// <param name="line">Settings of the line.</param>
    /// <param name="lateWindow">How long after its time-out a reply may still come; null: as long again as the request's reply time-out.</param>
    public RtuMaster(LineSettings line, TimeSpan? lateWindow = null)
    {
        ArgumentNullException.ThrowIfNull(line);
        if (lateWindow is { } window)
        {
            ArgumentOutOfRangeException.ThrowIfLessThan(window, TimeSpan.Zero, nameof(lateWindow));
        }

        Line = line;
        _lateWindow = lateWindow;
    }

    private enum State : byte
    {
        Idle,
        Quieting,
        Sending,
        Listening,
    }

    /// <summary>Settings of the line it speaks on.</summary>
    public LineSettings Line { get; }

    /// <summary>Bytes thrown away before requests since it was made.</summary>
    public long DiscardedBytes { get; private set; }

    /// <summary>Whole replies of other units skipped while listening.</summary>
    public long ForeignReplies { get; private set; }

    /// <summary>Whole replies to earlier requests skipped while listening.</summary>
    public long LateReplies { get; private set; }

    /// <summary>
    /// What is sent on the line comes back from it, as from an RS-485 adapter whose receiver is on while it sends; as far as the last exchanges show.
    /// No exchange on such a line is answered.
    /// </summary>
    public bool HearsItself => _own.AreBrought;

    /// <summary>Where the bytes of a <see cref="MasterAction.Listen"/> step go.</summary>
    public Span<byte> Space => _buffer.AsSpan(_length);

    /// <summary>
    /// Earliest time, not before <paramref name="now"/>, at which <paramref name="transaction"/> may be sent: after the silence between frames, and,
    /// when an earlier request with a reply of the same shape went unanswered by the same unit, after the time in which that late reply could still
    /// be taken for this one's. Other units, other shapes and urgent requests do not wait for the latter.
    /// </summary>
    public TimeSpan EarliestStart(Transaction transaction, TimeSpan now)
    {
        ArgumentNullException.ThrowIfNull(transaction);
        var earliest = Later(now, _lineFree);
        return transaction.Urgent || transaction.IsBroadcast ? earliest : Later(earliest, _late.Until(transaction.Expected));
    }

    /// <summary>The device was opened anew: it may be another one, so whether it hears itself is not known.</summary>
    public void NewLink() => _own.Forget();

    /// <summary>Takes up a transaction. It is sent at <see cref="EarliestStart"/>.</summary>
    /// <exception cref="InvalidOperationException">Another one is running, no request was filled in, or its reply time-out is zero.</exception>
    public void Begin(Transaction transaction, TimeSpan now)
    {
        ArgumentNullException.ThrowIfNull(transaction);
        if (_state != State.Idle)
        {
            throw new InvalidOperationException("A transaction is still running.");
        }

        if (transaction.ReplyTimeout == TimeSpan.Zero && !transaction.IsBroadcast)
        {
            throw new InvalidOperationException("The reply time-out is not set.");
        }

        transaction.Begin(now);
        _own.Begin();
        _late.Expire(now);
        _current = transaction;
        _length = 0;
        _startAt = EarliestStart(transaction, now);
        // A device that babbles without end must not keep a stop from being tried: after the longest frame the request goes out all the same.
        _sendAnywayAt = _startAt + Line.CharacterTime(Transaction.MaximumFrameBytes);
        _state = State.Quieting;
    }

    /// <summary>What to do next.</summary>
    public MasterStep Next(TimeSpan now) => _state switch
    {
        State.Quieting => new MasterStep(MasterAction.Discard, _startAt),
        State.Sending => new MasterStep(MasterAction.Send, now + RequestTime + _current!.ReplyTimeout + Line.FrameGap),
        State.Listening => new MasterStep(MasterAction.Listen, _deadline),
        _ => default,
    };

    /// <summary>So many bytes were thrown away; 0: none came.</summary>
    public void Discarded(int count, TimeSpan now)
    {
        Require(State.Quieting);
        DiscardedBytes += count;
        if (count > 0)
        {
            _lineFree = Later(_lineFree, now + Line.FrameGap);
            _startAt = Later(_startAt, now + Line.FrameGap);
        }

        if (now >= _sendAnywayAt || (count == 0 && now >= _startAt))
        {
            _state = State.Sending;
        }
    }

    /// <summary>The link has taken the whole request.</summary>
    /// <param name="begunAt">When the first byte was handed over.</param>
    /// <param name="now">When the link had taken the last.</param>
    public void Sent(TimeSpan begunAt, TimeSpan now)
    {
        Require(State.Sending);
        var current = _current!;
        current.BegunAt = begunAt;
        // The link takes a frame faster than the wire carries it.
        var lastByteOut = Later(now, begunAt + RequestTime);
        if (current.IsBroadcast)
        {
            _lineFree = lastByteOut + Later(Line.FrameGap, current.ReplyTimeout);
            End(TransactionResult.Sent, FrameFault.None, now);
            return;
        }

        _lineFree = lastByteOut + Line.FrameGap;
        _deadline = lastByteOut + current.ReplyTimeout;
        _state = State.Listening;
    }

    /// <summary>The request is not to be sent any more; nothing of it went out.</summary>
    public void Withdraw(TimeSpan now)
    {
        Require(State.Sending);
        End(TransactionResult.Withdrawn, FrameFault.None, now);
    }

    /// <summary>The link did not take the whole request in time.</summary>
    public void NotSent(TimeSpan begunAt, TimeSpan now)
    {
        Require(State.Sending);
        _current!.BegunAt = begunAt;
        _lineFree = Later(now, begunAt + RequestTime) + Line.FrameGap;
        _deadline = Later(now, begunAt + RequestTime) + _current.ReplyTimeout;
        EndUnanswered(TransactionResult.TimedOut, FrameFault.None, now);
    }

    /// <summary>So many bytes came into <see cref="Space"/>.</summary>
    public void Received(int count, TimeSpan now)
    {
        Require(State.Listening);
        ArgumentOutOfRangeException.ThrowIfNegative(count);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(count, Space.Length);
        _length += count;
        _lineFree = Later(_lineFree, now + Line.FrameGap);
        _late.Expire(now);
        while (_length > 0 && _state == State.Listening && Judge(now))
        {
        }
    }

    /// <summary>Nothing (more) came; ends the transaction when its deadline has passed.</summary>
    public void Silent(TimeSpan now)
    {
        Require(State.Listening);
        if (now < _deadline)
        {
            return;
        }

        var current = _current!;
        if (_length == 0 && _own.WasReply(current.Expected))
        {
            current.Accept(current.RequestFrame, _own.DoubtfulAt);
            Release();
        }
        else if (_length > 0 && !_own.AreBrought && RtuDecoder.Reply(_buffer.AsSpan(0, _length), current.Expected) is { State: DecodeState.Frame } reply)
        {
            // It was also the beginning of the request, of which no more came.
            Take(_buffer.AsSpan(0, _length), reply, now);
        }
        else if (_length > 0)
        {
            EndUnanswered(TransactionResult.Garbled, FrameFault.Cut, now);
        }
        else
        {
            var isOwn = _own.Seen != OwnRequest.None;
            EndUnanswered(isOwn ? TransactionResult.Garbled : TransactionResult.TimedOut, FrameFault.None, now);
        }
    }

    /// <summary>The device is gone; ends the transaction in whatever step it is.</summary>
    public void LinkGone(TimeSpan now)
    {
        if (_state == State.Idle)
        {
            throw new InvalidOperationException("No transaction is running.");
        }

        if (_state == State.Quieting)
        {
            End(TransactionResult.LinkGone, FrameFault.None, now);
            return;
        }

        _deadline = _state == State.Listening ? _deadline : now + RequestTime + _current!.ReplyTimeout;
        EndUnanswered(TransactionResult.LinkGone, FrameFault.None, now);
    }

    private TimeSpan RequestTime => Line.SendDelay + Line.CharacterTime(_current!.RequestFrame.Length);

    private static TimeSpan Later(TimeSpan a, TimeSpan b) => a > b ? a : b;

    /// <summary>Looks at the start of what came. True when something was skipped and the rest must be looked at.</summary>
    private bool Judge(TimeSpan now)
    {
        var received = _buffer.AsSpan(0, _length);
        var expected = _current!.Expected;
        var mine = RtuDecoder.Reply(received, expected);
        var request = _current.RequestFrame;
        var own = _own.Look(received, request);
        var mayBeReply = mine.State == DecodeState.Frame && mine.Length == request.Length;
        if (own == DecodeState.Frame && (!mayBeReply || _own.AreBrought) && _own.PutAside(mayBeReply, expected, now))
        {
            return Skip(request.Length);
        }

        var late = _late.Take(received);
        if (late.State == DecodeState.Frame)
        {
            LateReplies++;
            return Skip(late.Length);
        }

        if (own == DecodeState.Frame && _own.PutAside(mayBeReply, expected, now))
        {
            return Skip(request.Length);
        }

        if (own == DecodeState.Incomplete && (mine.State != DecodeState.Frame || _own.IsWorthWaiting))
        {
            return false;
        }

        if (mine.State == DecodeState.Frame)
        {
            Take(received, mine, now);
            return false;
        }

        if (mine.State == DecodeState.Incomplete || late.State == DecodeState.Incomplete)
        {
            return false;
        }

        // A reply from another slave leaves the time-out running (Modbus over Serial Line V1.02, 2.4.1).
        var foreign = mine.Fault == FrameFault.WrongUnit ? RtuDecoder.AnyReply(received) : mine;
        switch (foreign.State)
        {
            case DecodeState.Frame:
                ForeignReplies++;
                return Skip(foreign.Length);
            case DecodeState.Incomplete:
                return false;
            default:
                EndGarbled(mine, expected, now);
                return false;
        }
    }

    private bool Skip(int length)
    {
        _buffer.AsSpan(length, _length - length).CopyTo(_buffer);
        _length -= length;
        return true;
    }

    private void Take(ReadOnlySpan<byte> received, in Decoded reply, TimeSpan now)
    {
        var isBehindOwn = _own.IsBehindOne(reply.IsException, _current!.Expected);
        if (isBehindOwn || received.Length > reply.Length)
        {
            End(TransactionResult.Garbled, FrameFault.TooLong, now);
            return;
        }

        var current = _current!;
        current.Accept(received, now);
        Release();
    }

    private void EndGarbled(in Decoded decoded, in ReplyShape expected, TimeSpan now)
    {
        // With the right head and the full length this was the reply, only damaged: no other can follow. Anything else may have been noise or
        // another frame, and the reply may still be on its way.
        if (decoded.Fault == FrameFault.BadCrc && decoded.Length == expected.Length)
        {
            End(TransactionResult.Garbled, decoded.Fault, now);
            return;
        }

        EndUnanswered(TransactionResult.Garbled, decoded.Fault, now);
    }

    private void EndUnanswered(TransactionResult result, FrameFault fault, TimeSpan now)
    {
        var current = _current!;
        if (!current.IsBroadcast)
        {
            _late.Add(current.Expected, _deadline + (_lateWindow ?? current.ReplyTimeout));
        }

        End(result, fault, now);
    }

    private void End(TransactionResult result, FrameFault fault, TimeSpan now)
    {
        // Whatever came behind it, this is what has to be mended.
        var isOwn = result == TransactionResult.Garbled && (_own.Seen == OwnRequest.Certain || (_own.Seen == OwnRequest.Doubtful && fault == FrameFault.None));
        _current!.End(result, isOwn ? FrameFault.OwnRequest : fault, now);
        Release();
    }

    private void Release()
    {
        _current = null;
        _state = State.Idle;
    }

    private void Require(State state)
    {
        if (_state != state)
        {
            throw new InvalidOperationException($"The master is {_state}, not {state}.");
        }
    }
}

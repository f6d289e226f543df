using System.Numerics;
using Supervisor.Configuration.Machines;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime;
using Supervisor.Runtime.Inputs;
using Supervisor.Runtime.Stops;

namespace Supervisor.Machine.Interlocks;

/// <summary>One interlock: its inputs as last seen, its latch, its channels, and what is told of it.</summary>
internal sealed class InterlockMonitor
{
    private readonly MachineBoard _board;
    private readonly StopLatch _latch;
    private readonly InputBoard _inputs;
    private readonly IJournal _journal;
    private readonly int[] _cells;
    private readonly ChannelComparison? _channels;
    private readonly int _cause;
    private TimeSpan? _openSince;
    private TimeSpan? _closedSince;
    private int _tripsBefore;
    private int _tripsKnown;
    private int _tripsWhileClosed;
    private bool _counts;
    private bool _isToldOpen;
    private bool _wasReallyOpen;

    public InterlockMonitor(MachineBoard board, int index, IJournal journal)
    {
        Index = index;
        Definition = board.Machine.Interlocks[index];
        _board = board;
        _latch = board.Latch;
        _inputs = board.Inputs;
        _journal = journal;
        _cause = StopCauses.Interlock(index);
        _cells = [.. Definition.Inputs.Select(board.Inputs.IndexOf)];
        _channels = Definition.Discrepancy is { } allowed && _cells.Length > 1 ? new ChannelComparison(allowed) : null;
        _tripsKnown = _tripsWhileClosed = _latch.TripCount(_cause);

        // What stands from the start is no opening that anyone saw; but who may have opened it is not known either.
        _isToldOpen = _latch.IsStanding(_cause);
        HasOpened = _isToldOpen;
    }

    public int Index { get; }

    public InterlockDefinition Definition { get; }

    /// <summary>Bit per input that is open or silent.</summary>
    public ulong Open { get; private set; }

    /// <summary>Bit per input that was read before and is silent now.</summary>
    public ulong Silent { get; private set; }

    /// <summary>Bit per input that was never read.</summary>
    public ulong Unread { get; private set; }

    /// <summary>True when it is among causes of the latch, a bit each.</summary>
    public bool IsAmong(ulong causes) => (causes & (1UL << _cause)) != 0;

    /// <summary>True while the latch holds its axes.</summary>
    public bool IsStanding => _latch.IsStanding(_cause);

    /// <summary>True while the channels must be proven before a reset.</summary>
    public bool HasDiscrepancy => _channels is { IsLatched: true };

    /// <summary>True while nothing it stops may be commanded to move. An input never read holds without a trip: there was nothing to stop yet.</summary>
    public bool Forbids => IsStanding || Unread != 0;

    /// <summary>How often an input that answers was found open after it had been closed.</summary>
    public int RealOpenings { get; private set; }

    /// <summary>When it was last found open after it had been closed; null: never since the start.</summary>
    public TimeSpan? OpenedAt { get; private set; }

    /// <summary>
    /// True from an opening that was seen, or from the start, until the reset: somebody was there. Silence alone does not count.
    /// </summary>
    public bool HasOpened { get; private set; }

    /// <summary>True while an input that answers is open.</summary>
    public bool IsReallyOpen => (Open & ~(Silent | Unread)) != 0;

    /// <summary>True when a reset would be taken, had the button been pressed at <paramref name="pressedAt"/>: closed since before that.</summary>
    public bool IsResettable(TimeSpan pressedAt) => IsStanding && !HasDiscrepancy && _closedSince <= pressedAt;

    /// <summary>Reads the inputs; trips the latch where nobody has yet.</summary>
    public void Step(TimeSpan now)
    {
        // Taken before the inputs are looked at: a trip that comes while looking survives the reset.
        _tripsBefore = _latch.TripCount(_cause);
        Look(now);
        Trip(now);
        Compare(now);
        TellOpening(now);
        HasOpened = (HasOpened || IsReallyOpen) && (IsStanding || Open != 0);
    }

    /// <summary>Resets the latch as of the last look; the caller has asked <see cref="IsResettable"/>.</summary>
    public void Reset(string by, TimeSpan now)
    {
        _latch.Reset(_cause, _tripsBefore);
        HasOpened = false;
        _journal.Interlock(Index, InterlockChange.Reset, by, now);
    }

    private void Look(TimeSpan now)
    {
        ulong open = 0, silent = 0, unread = 0;
        for (var i = 0; i < _cells.Length; i++)
        {
            var reading = _inputs.Read(_cells[i]);
            var bit = 1UL << i;
            var isStale = reading.IsStale(now, Definition.StaleAfter);
            unread |= reading.Known ? 0 : bit;
            silent |= reading.Known && isStale ? bit : 0UL;
            open |= isStale || !reading.Closed ? bit : 0UL;
        }

        (Open, Silent, Unread) = (open, silent, unread);
        if (IsReallyOpen && !_wasReallyOpen)
        {
            RealOpenings++;
            OpenedAt = now;
        }

        // Silence in between changes nothing: only what was closed can be opened.
        _wasReallyOpen = IsReallyOpen || (_wasReallyOpen && open != 0);
        _tripsWhileClosed = open == 0 ? _tripsBefore : _tripsWhileClosed;
        _closedSince = open == 0 ? _closedSince ?? now : null;
        _openSince = (open & ~unread) != 0 ? _openSince ?? now : null;
    }

    private void Trip(TimeSpan now)
    {
        _counts = _openSince is { } since && now - since >= Definition.TripDelay;
        if (_counts && (!IsStanding || MustTakeHeldLoad()))
        {
            _latch.Trip(_cause);
        }
    }

    /// <summary>
    /// What stands trips no more, as it has stopped everything; but a load that was found held by torque at the start was spared by what stood
    /// then, and an opening since must reach it.
    /// </summary>
    private bool MustTakeHeldLoad()
    {
        if (!IsReallyOpen || Definition.StopCategory > 1 || _latch.TripCount(_cause) != _tripsWhileClosed)
        {
            return false;
        }

        foreach (var axis in Definition.Axes)
        {
            if (_board.HeldLoads[axis] && _board.Axes[axis].Read() is { State: AxisState.Faulted, Detail: AxisDetail.HoldingLoad })
            {
                return true;
            }
        }

        return false;
    }

    private void Compare(TimeSpan now)
    {
        var closed = _cells.Length - BitOperations.PopCount(Open);
        if (_channels?.Step(closed, _cells.Length, (Silent | Unread) == 0, now) != true)
        {
            return;
        }

        if (!IsStanding)
        {
            _latch.Trip(_cause);
        }

        _journal.Interlock(Index, InterlockChange.Discrepancy, InterlockTexts.Inputs(this, Open), now);
        _journal.Fault(new FaultEvent(now, -1, -1, FaultCode.ChannelDiscrepancy, 0, AxisState.Disabled, 0, 0));
    }

    private void TellOpening(TimeSpan now)
    {
        // A trip by a port whose input has closed again before this look is an opening all the same.
        var trips = _latch.TripCount(_cause);
        var wasTripped = trips != _tripsKnown;
        _tripsKnown = trips;
        if (wasTripped && Open == 0)
        {
            HasOpened = true;
            OpenedAt = now;
        }

        if (!_isToldOpen && (wasTripped || _counts))
        {
            _isToldOpen = true;
            _journal.Interlock(Index, InterlockChange.Opened, InterlockTexts.Inputs(this, Open == 0 ? InterlockTexts.All : Open), now);
        }

        if (_isToldOpen && Open == 0)
        {
            _isToldOpen = false;
            _journal.Interlock(Index, InterlockChange.Closed, InterlockTexts.Inputs(this, InterlockTexts.All), now);
        }
    }
}

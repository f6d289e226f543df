using Supervisor.Configuration.Machines;
using Supervisor.Runtime;
using Supervisor.Runtime.Outputs;

namespace Supervisor.Machine.Outputs;

/// <summary>The power-enable output and the mirror contact of the contactor it lets close, as seen in one step.</summary>
/// <remarks>A mirror contact (IEC 60947-4-1, annex F: value from memory) can't be closed while a main contact is: closed proves the contactor open.</remarks>
internal sealed class Contactor
{
    private static readonly TimeSpan LeastOldest = TimeSpan.FromMilliseconds(250);

    // An output whose place does not answer: the contactor may still be told by another way, or stay as it is.
    private static readonly TimeSpan UnconfirmedPatience = TimeSpan.FromSeconds(2);
    private const int OldestCycles = 5;
    private readonly MachineBoard _board;
    private readonly OutputCell _output;
    private readonly int _input;
    private readonly TimeSpan _oldest;
    private TimeSpan _orderedAt;
    private TimeSpan? _confirmedAt;
    private int _losses;
    private bool _on;
    private bool _isOrdered;

    public Contactor(MachineBoard board, PowerEnableDefinition definition)
    {
        (_board, Definition) = (board, definition);
        _output = board.Outputs.Cells[board.Outputs.Power];
        _input = board.Inputs.IndexOf(definition.Feedback);
        var cycle = definition.Feedback.Axis >= 0 ? board.Machine.Ports[board.Machine.Axes[definition.Feedback.Axis].Port].Cycle : TimeSpan.Zero;
        var stale = definition.Feedback.Module is { } bit ? board.Machine.Modules[bit.Module].StaleAfter : cycle * OldestCycles;
        _oldest = stale > LeastOldest ? stale : LeastOldest;
    }

    public PowerEnableDefinition Definition { get; }

    /// <summary>The mirror contact is read: closed, the contactor is open.</summary>
    public bool IsProvenOpen { get; private set; }

    /// <summary>The mirror contact is read: open, the contactor is closed.</summary>
    public bool IsProvenClosed { get; private set; }

    /// <summary>The mirror contact was never read, or not for too long.</summary>
    public bool IsSilent => !IsProvenOpen && !IsProvenClosed;

    /// <summary>Since when the mirror contact has its level.</summary>
    public TimeSpan Since { get; private set; }

    /// <summary>How often the output was dropped because a stop failed.</summary>
    public int Drops { get; private set; }

    /// <summary>True once its place has confirmed what was ordered last, or does not answer.</summary>
    public bool IsConfirmed => _output.Read() is var reading && (!reading.Known || reading.Acknowledged == _output.Order.Number);

    public void Look(TimeSpan now)
    {
        var input = _board.Inputs.Read(_input);
        var isFresh = !input.IsStale(now, _oldest);
        IsProvenOpen = isFresh && input.Closed;
        IsProvenClosed = isFresh && !input.Closed;
        Since = input.ChangedAt;
        Drops = _output.Drops;
        if (_isOrdered)
        {
            LookAtOutput(now);
        }
    }

    /// <summary>Switches it. On counts for nothing if a stop has failed since the last look.</summary>
    public void Put(bool on, TimeSpan now)
    {
        (_isOrdered, _on, _orderedAt, _confirmedAt) = (true, on, now, null);
        _output.Want(on, Drops);
    }

    /// <summary>True when the contactor should have followed the last order by now: its time counts from the output's confirmation.</summary>
    public bool IsOverdue(TimeSpan within, TimeSpan now) => now >= (_confirmedAt ?? _orderedAt + UnconfirmedPatience) + within;

    /// <summary>Its place was gone, or someone else set it: what was on and is not stays off, what should be off is switched off.</summary>
    private void LookAtOutput(TimeSpan now)
    {
        var output = _output.Read();
        if (output.Known && (output.Losses != _losses || (output.On && !_on && output.Acknowledged == _output.Order.Number)))
        {
            _losses = output.Losses;
            Put(_on && output.On, now);
        }

        if (_confirmedAt is null && output.Known && output.Acknowledged == _output.Order.Number)
        {
            _confirmedAt = now;
        }
    }
}

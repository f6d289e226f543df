namespace Supervisor.Bus.Gpio;

/// <summary>What a contact on a line is taken for: open from the first falling edge on, closed once it was 1 for the whole release time. A step machine.</summary>
/// <remarks>
/// An opening is never delayed or filtered: a contact that bounces shut has been open. Edges that were lost while it was closed held at least one
/// falling one, as edges alternate, so a gap in their sequence counts as an opening.
/// </remarks>
/// <param name="release">How long it must be 1 without a break before it counts as closed.</param>
public struct GpioContact(TimeSpan release)
{
    private uint _sequence;
    private bool _hasSequence;
    private bool _isRising;
    private TimeSpan _risenAt;

    /// <summary>True while it counts as closed.</summary>
    public bool IsClosed { get; private set; }

    /// <summary>True once a level was read.</summary>
    public bool IsKnown { get; private set; }

    /// <summary>When it opened, or when the 1 began that closed it.</summary>
    public TimeSpan ChangedAt { get; private set; }

    /// <summary>Edges lost since the line is held.</summary>
    public long LostEdges { get; private set; }

    /// <summary>Takes an edge. True when the contact counts as open from it on: tell that before the next edge is taken.</summary>
    public bool Take(in GpioEdge edge)
    {
        var lost = _hasSequence ? unchecked(edge.Sequence - _sequence - 1) : edge.Sequence - 1;
        (_sequence, _hasSequence) = (edge.Sequence, true);
        LostEdges += lost;
        var opens = lost > 0 || !edge.IsRising;
        if (opens)
        {
            Open(edge.At);
        }

        _isRising = edge.IsRising;
        _risenAt = edge.At;
        return opens;
    }

    /// <summary>Takes the level as read after the edges before it.</summary>
    public void TakeLevel(bool level, TimeSpan now)
    {
        if (!level)
        {
            Open(now);
            _isRising = false;
        }
        else if (!_isRising)
        {
            // 1 without its edge: it is counted from now.
            _isRising = true;
            _risenAt = IsClosed ? ChangedAt : now;
        }

        if (level && !IsClosed && now - _risenAt >= release)
        {
            IsClosed = true;
            ChangedAt = _risenAt;
        }

        IsKnown = true;
    }

    private void Open(TimeSpan at)
    {
        if (IsClosed || !IsKnown)
        {
            IsClosed = false;
            ChangedAt = at;
        }
    }
}

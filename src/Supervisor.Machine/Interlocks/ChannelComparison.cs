namespace Supervisor.Machine.Interlocks;

/// <summary>Watches that the channels of one interlock agree. A lasting difference is latched until all were seen open together, then closed.</summary>
/// <remarks>A contact that welded shut shows only by the other channel opening; seeing both open proves that both can.</remarks>
internal sealed class ChannelComparison(TimeSpan allowed)
{
    private TimeSpan? _differSince;
    private bool _sawAllOpen;

    /// <summary>True from a lasting difference until the channels were proven.</summary>
    public bool IsLatched { get; private set; }

    /// <summary>Looks at the channels; true when a difference has just been latched.</summary>
    /// <param name="closed">Channels that are closed.</param>
    /// <param name="channels">Channels in all.</param>
    /// <param name="isFresh">False while any channel is silent: nothing can be said then.</param>
    /// <param name="now">Monotonic time.</param>
    public bool Step(int closed, int channels, bool isFresh, TimeSpan now)
    {
        if (!isFresh)
        {
            _differSince = null;
            return false;
        }

        if (closed > 0 && closed < channels)
        {
            return Differ(now);
        }

        _differSince = null;
        _sawAllOpen |= closed == 0;
        if (IsLatched && _sawAllOpen && closed == channels)
        {
            IsLatched = false;
        }

        return false;
    }

    private bool Differ(TimeSpan now)
    {
        _differSince ??= now;
        if (now - _differSince.Value <= allowed)
        {
            return false;
        }

        // Each lasting difference asks for the proof anew.
        _sawAllOpen = false;
        var isNew = !IsLatched;
        IsLatched = true;
        return isNew;
    }
}

namespace Supervisor.Machine.Alarms;

/// <summary>
/// Whether an alarm chatters: from its fourth occurrence within a minute on, until no more than one lies within the last minute, so that it is not
/// named and unnamed in turn.
/// </summary>
internal sealed class Chatter
{
    // The last occurrences, the newest at _newest.
    private readonly TimeSpan[] _times = new TimeSpan[AlarmRules.ChatterAbove + 1];
    private int _count;
    private int _newest;

    public bool IsChattering { get; private set; }

    public void Note(TimeSpan at)
    {
        _newest = (_newest + 1) % _times.Length;
        _times[_newest] = at;
        _count = Math.Min(_count + 1, _times.Length);
    }

    /// <summary>Looks at the time; true when it changed.</summary>
    public bool Look(TimeSpan now)
    {
        var was = IsChattering;
        IsChattering = was ? IsRecent(1, now) : IsRecent(AlarmRules.ChatterAbove, now);
        return was != IsChattering;
    }

    /// <summary>What was noted still decides about later occurrences.</summary>
    public bool Remembers(TimeSpan now) => IsChattering || IsRecent(0, now);

    /// <summary>When the next look can find that it is over; <see cref="TimeSpan.MaxValue"/>: nothing is to be over.</summary>
    public TimeSpan NextLook(TimeSpan now)
    {
        var over = _count == 0 ? TimeSpan.MaxValue : Ago(IsChattering && _count > 1 ? 1 : 0) + AlarmRules.ChatterWindow;
        return over > now ? over : TimeSpan.MaxValue;
    }

    /// <summary>True when the occurrence that many before the newest lies within the window.</summary>
    private bool IsRecent(int before, TimeSpan now) => _count > before && now - Ago(before) < AlarmRules.ChatterWindow;

    private TimeSpan Ago(int before) => _times[(_newest - before + _times.Length) % _times.Length];
}

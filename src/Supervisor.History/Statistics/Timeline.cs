namespace Supervisor.History.Statistics;

/// <summary>
/// Lays runs of the supervisor along the day. Within a run durations are those of the monotonic clock, so that a clock that is set meanwhile bends
/// none; the time of day only decides what lies in the period.
/// </summary>
internal sealed class Timeline(DateTimeOffset since, DateTimeOffset until)
{
    // What lies between boots whose clocks tell nothing: long enough that alarms on both sides have nothing to do with each other.
    private static readonly TimeSpan Apart = TimeSpan.FromMinutes(10);

    private string _boot = "";
    private TimeSpan _at;
    private DateTimeOffset? _utc;
    private DateTimeOffset? _told;
    private bool _endedInOrder;

    /// <summary>Counts on from record to record; begins late enough that what lasted before the first is not below zero.</summary>
    public TimeSpan Elapsed { get; private set; } = TimeSpan.FromDays(1);

    /// <summary>True between a start and an end.</summary>
    public bool IsRunning { get; private set; }

    public TimeSpan NotRunning { get; private set; }

    public TimeSpan NotKnown { get; private set; }

    public TimeSpan Undated { get; private set; }

    public bool IsInPeriod(DateTimeOffset? utc) => utc >= since && utc < until;

    /// <summary>The supervisor starts.</summary>
    public void Start(string boot, TimeSpan at, DateTimeOffset? utc)
    {
        Elapsed += boot == _boot ? Later(at - _at) : utc is { } now && _utc is { } before ? Later(now - before) : Apart;
        if (utc is { } from)
        {
            Gap(from, _endedInOrder);
        }
        else
        {
            // Nobody knows how much of what follows until the next known time was before this start.
            _endedInOrder = false;
        }

        (_boot, _at, _utc, IsRunning) = (boot, at, utc, true);
    }

    /// <summary>The supervisor lives at this moment; how much of the time since the last one lies in the period.</summary>
    public TimeSpan Live(string boot, TimeSpan at, DateTimeOffset? utc)
    {
        if (!IsRunning || boot != _boot)
        {
            // Its start is no longer kept.
            _endedInOrder = false;
            Start(boot, at, utc);
            return TimeSpan.Zero;
        }

        var passed = Later(at - _at);
        Elapsed += passed;
        var from = _utc ?? (utc - passed);
        if (from is { } begun && _utc is null)
        {
            Gap(begun, isInOrder: false);
        }

        _at += passed;
        _utc = passed > TimeSpan.Zero ? utc ?? (_utc + passed) : _utc ?? utc;
        if (from is not { } start)
        {
            Undated += passed;
            return TimeSpan.Zero;
        }

        Tell(start + passed);
        return Inside(start, start + passed);
    }

    /// <summary>The time of day at a monotonic time of the run that goes on.</summary>
    public DateTimeOffset? UtcAt(TimeSpan at) => _utc + Later(at - _at);

    /// <summary>Boot of the last moment.</summary>
    public string Boot => _boot;

    /// <summary>The supervisor ended in order at the last moment.</summary>
    public void End() => (IsRunning, _endedInOrder) = (false, _utc is not null);

    /// <summary>The rest of the period has no records.</summary>
    public void Finish() => Gap(until, !IsRunning && _endedInOrder);

    private static TimeSpan Later(TimeSpan time) => time > TimeSpan.Zero ? time : TimeSpan.Zero;

    private void Gap(DateTimeOffset to, bool isInOrder)
    {
        var gap = Inside(_told ?? since, to);
        NotRunning += isInOrder ? gap : TimeSpan.Zero;
        NotKnown += isInOrder ? TimeSpan.Zero : gap;
        Tell(to);
        _endedInOrder = false;
    }

    private void Tell(DateTimeOffset to) => _told = _told is { } told && told > to ? told : to;

    private TimeSpan Inside(DateTimeOffset from, DateTimeOffset to) => Later((to < until ? to : until) - (from > since ? from : since));
}

namespace Supervisor.Runtime.Ports;

/// <summary>How late the cycles of a port begin, and how many were skipped for it: since the start, in the last minute and in the last hour. Allocates nothing once made.</summary>
/// <remarks>Windows are made of whole minutes, and reach up to one minute farther back than they say.</remarks>
internal sealed class CycleLateness
{
    private const int MinutesOfAnHour = 60;

    // The minute that runs comes on top of the whole ones.
    private readonly Minute[] _minutes = new Minute[MinutesOfAnHour + 1];

    /// <summary>Cycles skipped since the start.</summary>
    public long Skipped { get; private set; }

    /// <summary>Greatest lateness since the start.</summary>
    public TimeSpan Worst { get; private set; }

    /// <summary>A cycle begins.</summary>
    /// <param name="late">How much later than due.</param>
    /// <param name="skipped">Whole cycles that were left out for it.</param>
    /// <param name="now">Monotonic time.</param>
    public void Note(TimeSpan late, long skipped, TimeSpan now)
    {
        Skipped += skipped;
        Worst = late > Worst ? late : Worst;
        var number = NumberOf(now);
        ref var minute = ref _minutes[number % _minutes.Length];
        if (minute.Number != number)
        {
            minute = new Minute { Number = number };
        }

        minute.Skipped += skipped;
        minute.Worst = late > minute.Worst ? late : minute.Worst;
    }

    /// <summary>Cycles skipped and the greatest lateness in the minute that runs and so many before it.</summary>
    public (long Skipped, TimeSpan Worst) Of(int minutes, TimeSpan now)
    {
        var (skipped, worst) = (0L, TimeSpan.Zero);
        var number = NumberOf(now);
        foreach (ref var minute in _minutes.AsSpan())
        {
            if (minute.Number != 0 && number - minute.Number <= minutes)
            {
                skipped += minute.Skipped;
                worst = minute.Worst > worst ? minute.Worst : worst;
            }
        }

        return (skipped, worst);
    }

    // From 1: 0 is a minute that never was.
    private static long NumberOf(TimeSpan now) => (now.Ticks / TimeSpan.TicksPerMinute) + 1;

    private struct Minute
    {
        public long Number;
        public long Skipped;
        public TimeSpan Worst;
    }
}

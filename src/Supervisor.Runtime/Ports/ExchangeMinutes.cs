namespace Supervisor.Runtime.Ports;

/// <summary>Exchanges and failures of a port by the minute, for an hour. Allocates nothing once made.</summary>
/// <remarks>Windows are made of whole minutes, and reach up to one minute farther back than they say.</remarks>
internal sealed class ExchangeMinutes
{
    private const int MinutesOfAnHour = 60;

    // The minute that runs comes on top of the whole ones.
    private readonly Minute[] _minutes = new Minute[MinutesOfAnHour + 1];

    public void Note(bool failed, TimeSpan now)
    {
        var number = NumberOf(now);
        ref var minute = ref _minutes[number % _minutes.Length];
        if (minute.Number != number)
        {
            minute = new Minute { Number = number };
        }

        minute.Exchanges++;
        minute.Errors += failed ? 1 : 0;
    }

    /// <summary>Exchanges, and those among them that failed, in the minute that runs and so many before it.</summary>
    public (long Exchanges, long Errors) Of(int minutes, TimeSpan now)
    {
        var (exchanges, errors) = (0L, 0L);
        var number = NumberOf(now);
        foreach (ref var minute in _minutes.AsSpan())
        {
            if (minute.Number != 0 && number - minute.Number <= minutes)
            {
                exchanges += minute.Exchanges;
                errors += minute.Errors;
            }
        }

        return (exchanges, errors);
    }

    // From 1: 0 is a minute that never was.
    private static long NumberOf(TimeSpan now) => (now.Ticks / TimeSpan.TicksPerMinute) + 1;

    private struct Minute
    {
        public long Number;
        public long Exchanges;
        public long Errors;
    }
}

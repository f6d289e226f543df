namespace Supervisor.Runtime.Ports;

/// <summary>Durations of transactions in classes of a tenth of a millisecond: percentiles without keeping each one.</summary>
internal sealed class ExchangeTimes
{
    private const int Classes = 1024;

    // Half a minute or so of a busy port.
    private const int MostKept = 4096;
    private static readonly TimeSpan Width = TimeSpan.FromMicroseconds(100);
    private readonly int[] _counts = new int[Classes];
    private int _total;

    internal void Add(TimeSpan duration)
    {
        _counts[Math.Clamp((int)(duration.Ticks / Width.Ticks), 0, Classes - 1)]++;
        if (++_total >= MostKept)
        {
            Fade();
        }
    }

    /// <summary>The time that a share of the transactions stayed within.</summary>
    internal TimeSpan Percentile(double share)
    {
        var wanted = (int)Math.Ceiling(_total * share);
        var seen = 0;
        for (var i = 0; i < Classes && wanted > 0; i++)
        {
            seen += _counts[i];
            if (seen >= wanted)
            {
                return Width * (i + 0.5);
            }
        }

        return TimeSpan.Zero;
    }

    /// <summary>Halves the past, so that the figures follow the present.</summary>
    private void Fade()
    {
        _total = 0;
        for (var i = 0; i < Classes; i++)
        {
            _counts[i] /= 2;
            _total += _counts[i];
        }
    }
}

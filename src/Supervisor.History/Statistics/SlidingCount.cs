namespace Supervisor.History.Statistics;

/// <summary>How many came within the last so many seconds, to the second, in constant memory.</summary>
internal sealed class SlidingCount(int seconds)
{
    private readonly long[] _buckets = new long[seconds];

    /// <summary>Newest second of the window.</summary>
    public long Second { get; private set; }

    public long Total { get; private set; }

    /// <summary>Lets time pass; never back.</summary>
    public void MoveTo(long second)
    {
        if (second - Second >= seconds)
        {
            Array.Clear(_buckets);
            (Total, Second) = (0, second);
        }

        while (Second < second)
        {
            Second++;
            ref var leaving = ref _buckets[Second % seconds];
            Total -= leaving;
            leaving = 0;
        }
    }

    /// <summary>Adds what came evenly from a second to the newest one; what is out of the window already is left out.</summary>
    public void Add(long first, long count)
    {
        var span = Math.Max(1, Second - first + 1);
        for (var second = Math.Max(0, Math.Max(Second - span + 1, Second - seconds + 1)); second <= Second; second++)
        {
            var nth = second - (Second - span);
            var share = (long)(((Int128)count * nth / span) - ((Int128)count * (nth - 1) / span));
            _buckets[second % seconds] += share;
            Total += share;
        }
    }
}

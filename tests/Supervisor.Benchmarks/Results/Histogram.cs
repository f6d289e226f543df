namespace Supervisor.Benchmarks.Results;

/// <summary>Times in classes of a microsecond up to a quarter of a second; the greatest is kept exactly. Written by one thread; allocates nothing once made.</summary>
internal sealed class Histogram
{
    private static readonly (string Name, double Share)[] Percentiles = [("p50", 0.5), ("p90", 0.9), ("p99", 0.99), ("p99.9", 0.999)];
    private readonly int[] _counts = new int[250_000];

    public long Count { get; private set; }

    public TimeSpan Greatest { get; private set; }

    public void Add(TimeSpan time)
    {
        _counts[Math.Clamp((int)time.TotalMicroseconds, 0, _counts.Length - 1)]++;
        Count++;
        Greatest = time > Greatest ? time : Greatest;
    }

    /// <summary>Takes in what another one counted.</summary>
    public void Add(Histogram other)
    {
        for (var i = 0; i < _counts.Length; i++)
        {
            _counts[i] += other._counts[i];
        }

        Count += other.Count;
        Greatest = other.Greatest > Greatest ? other.Greatest : Greatest;
    }

    /// <summary>Begins anew.</summary>
    public void Clear()
    {
        Array.Clear(_counts);
        Count = 0;
        Greatest = TimeSpan.Zero;
    }

    /// <summary>The time, in microseconds, that a share of the samples stayed within; NaN without samples.</summary>
    public double Percentile(double share)
    {
        var wanted = (long)Math.Ceiling(Count * share);
        for (var i = 0; i < _counts.Length && wanted > 0; i++)
        {
            wanted -= _counts[i];
            if (wanted <= 0)
            {
                return i;
            }
        }

        return double.NaN;
    }

    /// <summary>The percentiles and the greatest, as figures of a suite.</summary>
    public IEnumerable<BenchmarkResult> Figures(string suite, string name)
    {
        foreach (var (percentile, share) in Percentiles)
        {
            yield return BenchmarkResult.Figure(suite, $"{name}, {percentile}", Percentile(share), "us", Count);
        }

        yield return BenchmarkResult.Figure(suite, $"{name}, max", Greatest.TotalMicroseconds, "us", Count);
    }

    /// <summary>The same thing measured twice, interleaved in one run: how far apart two figures are by chance.</summary>
    public static IEnumerable<BenchmarkResult> Noise(string suite, string name, Histogram even, Histogram odd) =>
        Percentiles.Select(entry => BenchmarkResult.Figure(
            suite, $"{name}, A against A, {entry.Name}", even.Percentile(entry.Share) / odd.Percentile(entry.Share), "ratio", Math.Min(even.Count, odd.Count)));
}

namespace Supervisor.Benchmarks.Results;

/// <summary>Rounds of a comparison in one run: each is measured in turn, several times, so that what the computer does meanwhile hits all alike.</summary>
internal static class Rounds
{
    /// <summary>Rounds of each: the median of five is the least that outlives two disturbed ones.</summary>
    public const int Usual = 5;

    public static double Median(IEnumerable<double> values)
    {
        var sorted = values.Order().ToArray();
        var middle = sorted.Length / 2;
        return sorted.Length == 0 ? double.NaN : sorted.Length % 2 == 1 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
    }

    /// <summary>Measures each candidate in turn, round after round.</summary>
    /// <returns>The figures of each candidate, by round.</returns>
    public static T[][] Interleaved<T>(int rounds, params Func<T>[] candidates)
    {
        var figures = candidates.Select(_ => new T[rounds]).ToArray();
        for (var round = 0; round < rounds; round++)
        {
            for (var candidate = 0; candidate < candidates.Length; candidate++)
            {
                figures[candidate][round] = candidates[candidate]();
            }
        }

        return figures;
    }

    /// <summary>Median of one candidate's figure by another's of the same round, so that what a round met is in both.</summary>
    public static double MedianRatio<T>(T[] above, T[] below, Func<T, double> figure) =>
        Median(above.Zip(below, (a, b) => figure(a) / figure(b)));
}

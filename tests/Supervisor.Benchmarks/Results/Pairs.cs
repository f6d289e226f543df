namespace Supervisor.Benchmarks.Results;

/// <summary>
/// Ours beside another, each twice a round in the order ours, theirs, theirs, ours: a computer that grows slower or faster meanwhile does so to both
/// alike, and what it does in between shows in each one's second figure by its first.
/// </summary>
internal sealed class Pairs<T>
{
    private readonly T[][] _rounds;

    private Pairs(T[][] rounds) => _rounds = rounds;

    public IEnumerable<T> Ours => _rounds[0].Concat(_rounds[3]);

    public static Pairs<T> Measure(int rounds, Func<T> ours, Func<T> theirs) => new(Rounds.Interleaved(rounds, ours, theirs, theirs, ours));

    /// <summary>The rows of one figure: ours and that of the master on libmodbus, their ratio, and how far each lies from itself.</summary>
    /// <param name="suite">The suite.</param>
    /// <param name="what">What is measured.</param>
    /// <param name="figure">The figure of a round.</param>
    /// <param name="unit">Its unit.</param>
    /// <param name="goal">Of the ratio.</param>
    public IEnumerable<BenchmarkResult> Rows(string suite, string what, Func<T, double> figure, string unit, string goal)
    {
        BenchmarkResult Row(string of, double value, string its, string wanted = "") => BenchmarkResult.Figure(suite, what + of, value, its, _rounds[0].Length, wanted);
        return
        [
            Row("", Rounds.Median(Ours.Select(figure)), unit),
            Row(" on libmodbus", Rounds.Median(_rounds[1].Concat(_rounds[2]).Select(figure)), unit),
            Row(", ours to libmodbus", Ratio(figure), "ratio", goal),
            Row(", ours A against A", Rounds.MedianRatio(_rounds[3], _rounds[0], figure), "ratio"),
            Row(", libmodbus A against A", Rounds.MedianRatio(_rounds[2], _rounds[1], figure), "ratio"),
        ];
    }

    /// <summary>Median of the rounds' ratios of ours to theirs.</summary>
    private double Ratio(Func<T, double> figure) =>
        Rounds.Median(Enumerable.Range(0, _rounds[0].Length).Select(round =>
            (figure(_rounds[0][round]) + figure(_rounds[3][round])) / (figure(_rounds[1][round]) + figure(_rounds[2][round]))));
}

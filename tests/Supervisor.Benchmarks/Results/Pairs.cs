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

    public IEnumerable<T> Theirs => _rounds[1].Concat(_rounds[2]);

    public static Pairs<T> Measure(int rounds, Func<T> ours, Func<T> theirs) => new(Rounds.Interleaved(rounds, ours, theirs, theirs, ours));

    /// <summary>Median of the rounds' ratios of ours to theirs.</summary>
    public double Ratio(Func<T, double> figure) =>
        Rounds.Median(Enumerable.Range(0, _rounds[0].Length).Select(round =>
            (figure(_rounds[0][round]) + figure(_rounds[3][round])) / (figure(_rounds[1][round]) + figure(_rounds[2][round]))));

    /// <summary>Median of the rounds' ratios of our second figure to our first.</summary>
    public double OursAgainstOurs(Func<T, double> figure) => Rounds.MedianRatio(_rounds[3], _rounds[0], figure);

    /// <summary>The same of theirs.</summary>
    public double TheirsAgainstTheirs(Func<T, double> figure) => Rounds.MedianRatio(_rounds[2], _rounds[1], figure);
}

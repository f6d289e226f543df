namespace Supervisor.Benchmarks.Results;

/// <summary>One figure of a suite.</summary>
/// <param name="Suite">Name of the suite.</param>
/// <param name="Name">What was measured.</param>
/// <param name="Value">The figure: a median of rounds, a percentile, or a count.</param>
/// <param name="Unit">Its unit; "ratio" for a comparison.</param>
/// <param name="Goal">What it should be; empty for a figure that only informs.</param>
/// <param name="Count">Rounds or samples behind it.</param>
internal sealed record BenchmarkResult(string Suite, string Name, double Value, string Unit, string Goal, long Count)
{
    /// <summary>False when a goal is missed that does not depend on the computer: a count. Null for figures of time, which only people judge.</summary>
    public bool? IsMet { get; init; }

    /// <summary>A count that must be nought, on any computer.</summary>
    public static BenchmarkResult Nought(string suite, string name, long count, long samples) =>
        new(suite, name, count, "count", "= 0", samples) { IsMet = count == 0 };

    /// <summary>A figure that informs.</summary>
    public static BenchmarkResult Figure(string suite, string name, double value, string unit, long samples, string goal = "") =>
        new(suite, name, value, unit, goal, samples);
}

namespace Supervisor.History.Statistics;

/// <summary>One cause among several.</summary>
/// <param name="Key">The cause.</param>
/// <param name="Value">What it brought: a count, or seconds.</param>
/// <param name="Share">Of all, 0 to 1.</param>
/// <param name="Cumulative">Share of it and of those before it.</param>
public readonly record struct ParetoLine<T>(T Key, double Value, double Share, double Cumulative);

/// <summary>Sums by cause.</summary>
internal sealed class Pareto<T>
    where T : notnull
{
    private readonly Dictionary<T, double> _sums = [];

    public void Add(T key, double value)
    {
        if (value > 0)
        {
            _sums[key] = _sums.GetValueOrDefault(key) + value;
        }
    }

    /// <summary>The greatest first; equal ones by their key, so that the order does not change from one question to the next.</summary>
    public IReadOnlyList<ParetoLine<T>> Lines()
    {
        var all = _sums.Values.Sum();
        var before = 0.0;
        var lines = new List<ParetoLine<T>>(_sums.Count);
        foreach (var (key, value) in _sums.OrderByDescending(sum => sum.Value).ThenBy(sum => sum.Key))
        {
            before += value;
            lines.Add(new ParetoLine<T>(key, value, value / all, before / all));
        }

        return lines;
    }
}

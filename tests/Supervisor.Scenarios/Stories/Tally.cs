namespace Supervisor.Scenarios.Stories;

/// <summary>Counts by name, kept over many stories.</summary>
public sealed class Tally
{
    private readonly SortedDictionary<string, long> _counts = new(StringComparer.Ordinal);

    /// <summary>Counts something.</summary>
    public void Add(string name, long times = 1) => _counts[name] = _counts.GetValueOrDefault(name) + times;

    /// <summary>How often something was counted.</summary>
    public long this[string name] => _counts.GetValueOrDefault(name);

    /// <summary>All names with their counts, in order of name.</summary>
    public IEnumerable<KeyValuePair<string, long>> All => _counts;
}

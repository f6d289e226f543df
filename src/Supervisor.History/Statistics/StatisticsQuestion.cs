namespace Supervisor.History.Statistics;

/// <summary>What to count over.</summary>
/// <param name="Since">Beginning of the period.</param>
/// <param name="Until">Its end, later than its beginning; not in it.</param>
public sealed record StatisticsQuestion(DateTimeOffset Since, DateTimeOffset Until)
{
    /// <summary>Only what concerns this axis; null: the machine.</summary>
    public string? Axis { get; init; }

    /// <summary>Monotonic time at which the supervisor whose start is the newest in the file still runs; null: it is known to have run up to its last record only.</summary>
    public TimeSpan? RunsAt { get; init; }
}

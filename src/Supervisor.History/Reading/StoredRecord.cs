using Supervisor.History.Clocks;
using Supervisor.History.Entries;

namespace Supervisor.History.Reading;

/// <summary>A record as it stands in the file.</summary>
/// <param name="Sequence">Number in the order of writing; the only order that can be trusted.</param>
/// <param name="BootId">Boot of the board in which it happened; monotonic times compare within one boot only.</param>
/// <param name="Utc">Time of day at which it happened.</param>
/// <param name="Quality">How far that can be trusted.</param>
/// <param name="Record">What happened.</param>
public sealed record StoredRecord(long Sequence, string BootId, DateTimeOffset Utc, UtcQuality Quality, HistoryRecord Record)
{
    /// <summary>Number of the incident it belongs to; null when it belongs to none.</summary>
    public long? Incident { get; init; }

    /// <summary>How many alike it stands for: 1 unless repeats were collapsed. <see cref="Record"/> is the first of them.</summary>
    public long Count { get; init; } = 1;

    /// <summary>Monotonic time of the last of them.</summary>
    public TimeSpan Last { get; init; }
}

/// <summary>A page of records, newest first.</summary>
/// <param name="Records">The records.</param>
/// <param name="NextBefore">What to ask for as <see cref="HistoryFilter.BeforeSequence"/> to get the next page; null when this is the last.</param>
public sealed record HistoryPage(IReadOnlyList<StoredRecord> Records, long? NextBefore);

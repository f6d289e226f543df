using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Incidents;

namespace Supervisor.History.Reading;

/// <summary>A record as it stands in the file.</summary>
/// <param name="Sequence">Number in the order of writing; the only order that can be trusted.</param>
/// <param name="BootId">Boot of the board in which it happened; monotonic times compare within one boot only.</param>
/// <param name="Utc">Time of day at which it happened.</param>
/// <param name="Quality">How far that can be trusted.</param>
/// <param name="Record">What happened.</param>
public sealed record StoredRecord(long Sequence, string BootId, DateTimeOffset Utc, UtcQuality Quality, HistoryRecord Record)
{
    /// <summary>No time before this program existed can be right: the clock had not been set.</summary>
    public static readonly DateTimeOffset EarliestPossible = new(2025, 1, 1, 0, 0, 0, TimeSpan.Zero);

    /// <summary>Number of the incident it belongs to; null when it belongs to none.</summary>
    public long? Incident => Placement.Incident;

    /// <summary>How it stands to the others of its incident.</summary>
    public Placement Placement { get; init; }

    /// <summary>How many alike it stands for: 1 unless repeats were collapsed. <see cref="Record"/> is the first of them.</summary>
    public long Count { get; init; } = 1;

    /// <summary>Monotonic time of the last of them.</summary>
    public TimeSpan Last { get; init; }

    /// <summary>False where the clock had not been set and nothing told later when it was: only the time since the board's start is known.</summary>
    public bool IsTimeKnown => Quality is UtcQuality.Synchronised or UtcQuality.Derived || Utc >= EarliestPossible;
}

/// <summary>A page of records.</summary>
/// <param name="Records">The records, newest first unless asked otherwise.</param>
/// <param name="NextBefore">Number of the last of them where more follow: what to ask for as <see cref="HistoryFilter.BeforeSequence"/>, or as <see cref="HistoryFilter.AfterSequence"/> where the oldest come first; null when this is the last page.</param>
public sealed record HistoryPage(IReadOnlyList<StoredRecord> Records, long? NextBefore);

namespace Supervisor.History.Writing;

/// <summary>How the history fares, for status and alarms.</summary>
/// <param name="Good">True while records reach the disk.</param>
/// <param name="Message">Why not, and what to do; empty while good.</param>
/// <param name="FailingSince">Monotonic time of the first failed attempt of a row; null while good.</param>
/// <param name="Committed">Records on disk since start.</param>
/// <param name="Lost">Records that could not be kept since start.</param>
public sealed record HistoryHealth(bool Good, string Message, TimeSpan? FailingSince, long Committed, long Lost)
{
    /// <summary>Repeats since start that were collapsed into first, last and count, as their share of the bytes a day was used up.</summary>
    public long Collapsed { get; init; }

    /// <summary>True while a share of the bytes a day is used up.</summary>
    public bool IsSparing { get; init; }

    /// <summary>Bytes written since start.</summary>
    public long BytesWritten { get; init; }
}

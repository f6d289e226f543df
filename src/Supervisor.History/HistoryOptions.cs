using Supervisor.History.Clocks;
using Supervisor.History.Incidents;

namespace Supervisor.History;

/// <summary>What the history needs from its caller. It reads no clock and sleeps nowhere by itself.</summary>
public sealed record HistoryOptions
{
    /// <summary>Path of the file. Its folder must exist and be writable, also for the two files SQLite keeps beside it.</summary>
    public required string Path { get; init; }

    /// <summary>Identity of this boot of the board, such as the text of <c>/proc/sys/kernel/random/boot_id</c>.</summary>
    public required string BootId { get; init; }

    /// <summary>Reads both clocks. Called on the writer's thread.</summary>
    public required Func<ClockReading> Clock { get; init; }

    /// <summary>Blocks the writer's thread between two attempts on a disk that fails. It should wait on CLOCK_MONOTONIC.</summary>
    public required Action<TimeSpan> Pause { get; init; }

    /// <summary>Records that may wait for the disk, 8 to 1,000,000. The last quarter is kept for faults, starts and ends.</summary>
    public int QueueCapacity { get; init; } = 4_096;

    /// <summary>Records of one kind that are kept, 1 to 10,000,000; the oldest go. By kind, so that a storm of one can't push out the others.</summary>
    public int MaximumPerKind { get; init; } = 20_000;

    /// <summary>
    /// Bytes that may be written to the disk a day, 1 MB to 100 GB. While the share of a kind of records is used up, its repeats are collapsed into
    /// first, last and count; what is new is always written.
    /// </summary>
    /// <remarks>
    /// The default is for a card of 2 GB that lasts ten years: 1,000 erasures of each cell and ten bytes erased for each written in small synced pieces
    /// (both assumed, at the low end of what cards do) leave 200 GB, 55 MB a day, and somewhat more than a third of that is the history's.
    /// </remarks>
    public long BytesPerDay { get; init; } = 20_000_000;

    /// <summary>
    /// Longest time that records that tell no more than what led to something wait to be written together, 0 to 1 minute; up to ten minutes while their
    /// part of the bytes a day runs low.
    /// </summary>
    public TimeSpan BulkInterval { get; init; } = TimeSpan.FromSeconds(2);

    /// <summary>Room for all recordings, 1,000,000 bytes and up; the oldest go. A day's may take a quarter.</summary>
    public long RecordingBytes { get; init; } = 64_000_000;

    /// <summary>Wait between two attempts on a disk that fails, 10 ms to 1 minute. Shutting down may last that much longer.</summary>
    public TimeSpan RetryInterval { get; init; } = TimeSpan.FromMilliseconds(500);

    /// <summary>Names of the channels by which messages go to a person. What happens from the first run with a channel on is told by it.</summary>
    public IReadOnlyList<string> Channels { get; init; } = [];

    /// <summary>Which faults belong together.</summary>
    public IncidentRules Incidents { get; init; } = new();

    internal void Check()
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(Path);
        ArgumentException.ThrowIfNullOrWhiteSpace(BootId);
        ArgumentNullException.ThrowIfNull(Clock);
        ArgumentNullException.ThrowIfNull(Pause);
        InRange(nameof(QueueCapacity), QueueCapacity, 8, 1_000_000);
        InRange(nameof(MaximumPerKind), MaximumPerKind, 1, 10_000_000);
        InRange(nameof(BytesPerDay), BytesPerDay, 1_000_000, 100_000_000_000);
        InRange($"{nameof(BulkInterval)} (ms)", BulkInterval.TotalMilliseconds, 0, 60_000);
        ArgumentNullException.ThrowIfNull(Channels);
        ArgumentNullException.ThrowIfNull(Incidents);
        InRange($"{nameof(IncidentRules.Window)} (ms)", Incidents.Window.TotalMilliseconds, 100, 600_000);
        InRange(nameof(RecordingBytes), RecordingBytes, 1_000_000, 4_000_000_000);
        InRange($"{nameof(RetryInterval)} (ms)", RetryInterval.TotalMilliseconds, 10, 60_000);
    }

    private static void InRange(string name, double value, double low, double high)
    {
        if (!(value >= low && value <= high))
        {
            throw new ArgumentOutOfRangeException(name, value, $"{name} must be {low} to {high}.");
        }
    }
}

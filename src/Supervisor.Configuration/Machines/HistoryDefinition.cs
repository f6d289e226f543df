namespace Supervisor.Configuration.Machines;

/// <summary>How what happens is kept.</summary>
/// <param name="IncidentWindow">A fault that comes within this time of the last one belongs to the same incident, 100 ms to 10 minutes.</param>
public sealed record HistoryDefinition(TimeSpan IncidentWindow)
{
    /// <summary>What holds where the file says nothing: 10 s.</summary>
    public static HistoryDefinition Default { get; } = new(TimeSpan.FromSeconds(10));

    /// <summary>Bytes that records may be written with a day, 1 MB to 100 GB; recordings have a bound of their own.</summary>
    /// <remarks>
    /// The default is for a card of 2 GB that is to last ten years: 1,000 erasures of each cell, and ten bytes erased for each that is written in small
    /// synced pieces (both assumed, at the low end of what cards do), leave 200 GB, 55 MB a day. Records may take 20 MB of it, recordings 16 MB.
    /// </remarks>
    public long BytesPerDay { get; init; } = 20_000_000;

    /// <summary>Records of each kind that are kept, 100 to 1,000,000; the oldest go.</summary>
    public int RecordsPerKind { get; init; } = 20_000;

    /// <summary>Samples around faults and stops.</summary>
    public RecordingsDefinition Recordings { get; init; } = RecordingsDefinition.Default;
}

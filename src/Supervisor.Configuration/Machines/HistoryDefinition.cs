namespace Supervisor.Configuration.Machines;

/// <summary>How what happens is kept.</summary>
/// <param name="IncidentWindow">A fault that comes within this time of the last one belongs to the same incident, 100 ms to 10 minutes.</param>
public sealed record HistoryDefinition(TimeSpan IncidentWindow)
{
    /// <summary>What holds where the file says nothing: 10 s.</summary>
    public static HistoryDefinition Default { get; } = new(TimeSpan.FromSeconds(10));

    /// <summary>Samples around faults and stops.</summary>
    public RecordingsDefinition Recordings { get; init; } = RecordingsDefinition.Default;
}

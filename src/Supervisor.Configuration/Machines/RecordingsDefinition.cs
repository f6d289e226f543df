namespace Supervisor.Configuration.Machines;

/// <summary>Samples of every axis in every cycle around a fault or a stop.</summary>
/// <param name="Before">From how long before the first event, 1 to 60 s.</param>
/// <param name="After">To how long after the last one, 1 to 60 s.</param>
/// <param name="Longest">Longest recording: further events within it extend it no farther. Before and after together, to 120 s.</param>
/// <param name="KeepBytes">Room for all recordings, 1 MB to 4 GB; the oldest go. A day's may take a quarter.</param>
public sealed record RecordingsDefinition(TimeSpan Before, TimeSpan After, TimeSpan Longest, long KeepBytes)
{
    /// <summary>10 s before, 5 s after, a minute at most, 64 MB.</summary>
    public static RecordingsDefinition Default { get; } =
        new(TimeSpan.FromSeconds(10), TimeSpan.FromSeconds(5), TimeSpan.FromSeconds(60), 64_000_000);
}

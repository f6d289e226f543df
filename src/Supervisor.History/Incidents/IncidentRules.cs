namespace Supervisor.History.Incidents;

/// <summary>What decides which faults belong together.</summary>
public sealed record IncidentRules
{
    /// <summary>A fault that comes within this time of the last one, or of the last step of a recovery, belongs to the same incident; 100 ms to 10 minutes.</summary>
    public TimeSpan Window { get; init; } = TimeSpan.FromSeconds(10);

    /// <summary>By axis the group that stops with it; axes without a group are left out.</summary>
    public IReadOnlyDictionary<string, string> Groups { get; init; } = new Dictionary<string, string>();

    /// <summary>
    /// Faults that have one cause show within this time of each other: a line's drives are asked again at a falling rate, a supply falls by its
    /// capacitors. Never longer than the window.
    /// </summary>
    internal TimeSpan Moment => Window < LongestMoment ? Window : LongestMoment;

    private static readonly TimeSpan LongestMoment = TimeSpan.FromSeconds(2);
}

namespace Supervisor.History.Reading;

/// <summary>An incident in one line.</summary>
/// <param name="Number">Number of its first record.</param>
/// <param name="First">Its first record that is kept.</param>
/// <param name="Lead">What came first: a fault, or the interlock or the loss of a port that its faults follow from.</param>
/// <param name="Gravest">A fault of it of a higher priority than what leads; null when there is none.</param>
/// <param name="Faults">Faults of it, without warnings.</param>
/// <param name="Consequences">How many of these follow from another, or from an interlock.</param>
/// <param name="Axes">Names of the axes that were faulted, in the order in which they were.</param>
/// <param name="State">How far it is.</param>
/// <param name="BackAfter">From its beginning until every axis was back that had been in use; null while one is not, where none was faulted, and where that was not seen.</param>
public sealed record IncidentSummary(
    long Number, StoredRecord First, StoredRecord Lead, StoredRecord? Gravest, long Faults, long Consequences, IReadOnlyList<string> Axes, IncidentState State, TimeSpan? BackAfter);

/// <summary>How far an incident is.</summary>
public enum IncidentState : byte
{
    /// <summary>No axis was faulted.</summary>
    NoAxis = 0,

    /// <summary>An axis is still faulted.</summary>
    Standing = 1,

    /// <summary>Every fault is cleared, but an axis that had been in use was not energised since.</summary>
    Cleared = 2,

    /// <summary>Every axis that had been in use is energised again.</summary>
    Back = 3,

    /// <summary>The supervisor was started anew before the axes were back: what they had latched is not known to it.</summary>
    Restarted = 4,
}

/// <summary>A page of incidents, the newest first.</summary>
/// <param name="Incidents">The incidents.</param>
/// <param name="NextBefore">What to ask for as <see cref="HistoryFilter.BeforeSequence"/> to get the next page; null when this is the last.</param>
public sealed record IncidentPage(IReadOnlyList<IncidentSummary> Incidents, long? NextBefore);

/// <summary>An incident whole.</summary>
/// <param name="Summary">In one line.</param>
/// <param name="Before">What was told before it, in the order of writing: the newest records of the same boot, within five minutes.</param>
/// <param name="Records">Its records in the order of writing, at most <see cref="MaximumRecords"/>.</param>
/// <param name="LeftOut">Records behind these.</param>
public sealed record IncidentStory(IncidentSummary Summary, IReadOnlyList<StoredRecord> Before, IReadOnlyList<StoredRecord> Records, long LeftOut)
{
    /// <summary>Most records of a story.</summary>
    public const int MaximumRecords = 2_000;
}

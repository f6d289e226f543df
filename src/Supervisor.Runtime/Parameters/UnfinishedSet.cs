namespace Supervisor.Runtime.Parameters;

/// <summary>A set of parameters that was begun to be loaded into a drive and not seen to its end by an earlier run: the drive may hold a mixture.</summary>
/// <param name="Entries">What was to be written; empty where that is not known any more.</param>
/// <param name="Saves">The drive was to be told to keep it.</param>
public sealed record UnfinishedSet(IReadOnlyList<ParameterEntry> Entries, bool Saves);

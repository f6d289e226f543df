namespace Supervisor.History.Outbox;

/// <summary>What becomes different in the outbox; stored as a whole or not at all. Storing it twice does no harm.</summary>
/// <param name="Channel">Name of the channel.</param>
public sealed record OutboxChange(string Channel)
{
    /// <summary>Incidents up to this number have been looked at; null: as before.</summary>
    public long? Through { get; init; }

    /// <summary>Messages as they are to stand, new ones and known ones.</summary>
    public IReadOnlyList<OutboxMessage> Messages { get; init; } = [];

    /// <summary>True when nothing becomes different.</summary>
    public bool IsEmpty => Through is null && Messages.Count == 0;
}

using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Incidents;
using Supervisor.History.Outbox;
using Supervisor.History.Thrift;
using Supervisor.History.Writing;

namespace Supervisor.History.Storage;

/// <summary>What the writer needs of the place where records stay: the database, or in simulated time a disk that fills and fails by seed.</summary>
internal interface IHistoryStorage : IDisposable
{
    /// <summary>Highest number stored; 0 when there is none.</summary>
    long LastSequence { get; }

    /// <summary>How the run before this one ended.</summary>
    PreviousEnd PreviousEnd { get; }

    /// <summary>Hash of the machine file at the start before this one; empty where there was none.</summary>
    string PreviousFileHash { get; }

    /// <summary>The newest incident of this boot as it stands when the storage was opened, in the order of writing; empty when there is none.</summary>
    IReadOnlyList<(long Sequence, Placement Placement, HistoryRecord Record)> NewestIncident { get; }

    /// <summary>True when the relation of the two clocks changed since it was last written down.</summary>
    bool NeedsAnchor(in ClockReading now);

    /// <summary>Bytes it has handed to the file system since it was opened.</summary>
    long BytesWritten { get; }

    /// <summary>What was left of the bytes a day when that was last kept.</summary>
    IReadOnlyList<StoredLevel> Levels(in ClockReading now);

    /// <summary>Keeps what is left of the bytes a day, together with the next commit.</summary>
    void KeepLevels(IReadOnlyList<(BudgetShare Share, long Bytes)> levels);

    /// <summary>Stores a batch as a whole; on an exception none of it is stored, or all of it and a repetition does no harm.</summary>
    /// <param name="batch">The records, numbered.</param>
    /// <param name="changes">What becomes different in the outbox.</param>
    /// <param name="now">The clocks now.</param>
    /// <param name="durable">True: on return it and everything before it outlives a loss of power. False: only the end of the process.</param>
    void Commit(IReadOnlyList<PendingRecord> batch, IReadOnlyList<OutboxChange> changes, in ClockReading now, bool durable);

    /// <summary>Makes what was committed before outlive a loss of power.</summary>
    void Sync();

    /// <summary>Called between two commits: time for housekeeping.</summary>
    /// <param name="inHaste">True while records wait that are to be on the disk at once: only what can't be put off.</param>
    void Tidy(bool inHaste);
}

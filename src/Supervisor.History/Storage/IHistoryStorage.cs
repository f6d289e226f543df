using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Writing;

namespace Supervisor.History.Storage;

/// <summary>What the writer needs of the place where records stay: the database, or in simulated time a disk that fills and fails by seed.</summary>
internal interface IHistoryStorage : IDisposable
{
    /// <summary>Highest number stored; 0 when there is none.</summary>
    long LastSequence { get; }

    /// <summary>How the run before this one ended.</summary>
    PreviousEnd PreviousEnd { get; }

    /// <summary>True when the relation of the two clocks changed since it was last written down.</summary>
    bool NeedsAnchor(in ClockReading now);

    /// <summary>Stores a batch as a whole; on return it is on disk, on an exception none of it is, or all of it and a repetition does no harm.</summary>
    void Commit(IReadOnlyList<PendingRecord> batch, in ClockReading now);
}

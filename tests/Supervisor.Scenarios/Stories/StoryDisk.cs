using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Incidents;
using Supervisor.History.Outbox;
using Supervisor.History.Storage;
using Supervisor.History.Thrift;
using Supervisor.History.Writing;
using Supervisor.Simulation.Plant;

namespace Supervisor.Scenarios.Stories;

/// <summary>A record as it stays.</summary>
/// <param name="Sequence">Its number.</param>
/// <param name="Record">What was told.</param>
/// <param name="Utc">The time of day it was stamped with.</param>
public readonly record struct StoredRow(long Sequence, HistoryRecord Record, DateTimeOffset Utc);

/// <summary>
/// A disk that outlives supervisors. It can be full, fail, tell an error although it has stored, and lose nothing that it has acknowledged;
/// like the database it stores a batch as a whole, takes a number only once, and serves one writer at a time.
/// </summary>
public sealed class StoryDisk(ulong seed)
{
    private readonly SeededDraw _draw = new(seed);
    private readonly Dictionary<long, HistoryRecord> _rows = [];
    private object? _writer;
    private bool _endedInOrder = true;

    /// <summary>Nothing more fits on it.</summary>
    public bool IsFull { get; set; }

    /// <summary>It can't be read or written.</summary>
    public bool IsFailing { get; set; }

    /// <summary>Chance that a commit is stored and an error is told all the same.</summary>
    public double DoubtfulCommits { get; set; }

    /// <summary>A planted bug: one in so many records is acknowledged and not stored; 0 for none.</summary>
    public int DropsOneIn { get; set; }

    /// <summary>A planted bug: one in so many records is stored twice; 0 for none.</summary>
    public int DoublesOneIn { get; set; }

    /// <summary>Called with every record that is stored.</summary>
    public Action<StoredRow>? Stored { get; set; }

    /// <summary>Called when a number that is taken comes with another record.</summary>
    public Action<long>? Clashed { get; set; }

    /// <summary>Commits that failed.</summary>
    public long Failures { get; private set; }

    /// <summary>Highest number stored.</summary>
    public long LastSequence { get; private set; }

    /// <summary>True while it takes records.</summary>
    public bool IsGood => !IsFull && !IsFailing;

    /// <summary>The record of a number; null when there is none.</summary>
    public HistoryRecord? Row(long sequence) => _rows.GetValueOrDefault(sequence);

    /// <summary>The process that wrote is gone; the system drops its lock.</summary>
    public void DropWriter(object writer) => _writer = ReferenceEquals(_writer, writer) ? null : _writer;

    /// <summary>Opens it for a writer, which has it for itself until it is gone, through every failure.</summary>
    internal IHistoryStorage Open(object writer)
    {
        if (_writer is not null && !ReferenceEquals(_writer, writer))
        {
            throw Failed("another process writes to the file");
        }

        if (IsFailing)
        {
            throw Failed("input/output error");
        }

        _writer = writer;
        return new Session(this);
    }

    private IOException Failed(string why)
    {
        Failures++;
        return new IOException(why);
    }

    private void Store(IReadOnlyList<PendingRecord> batch)
    {
        if (!IsGood)
        {
            throw Failed(IsFull ? "no space left on device" : "input/output error");
        }

        foreach (var item in batch)
        {
            Store(item);
        }

        if (_draw.NextFraction() < DoubtfulCommits)
        {
            throw Failed("input/output error after the commit");
        }
    }

    private void Store(PendingRecord item)
    {
        if (_rows.TryGetValue(item.Sequence, out var there))
        {
            if (!ReferenceEquals(there, item.Record))
            {
                Clashed?.Invoke(item.Sequence);
            }

            return;
        }

        _endedInOrder = item.Record is EndRecord || (item.Record is not StartRecord && _endedInOrder);
        LastSequence = Math.Max(LastSequence, item.Sequence);
        if (DropsOneIn > 0 && item.Sequence % DropsOneIn == 0)
        {
            return;
        }

        _rows[item.Sequence] = item.Record!;
        var row = new StoredRow(item.Sequence, item.Record!, item.Utc);
        Stored?.Invoke(row);
        if (DoublesOneIn > 0 && item.Sequence % DoublesOneIn == 0)
        {
            Stored?.Invoke(row with { Sequence = ++LastSequence });
        }
    }

    private sealed class Session(StoryDisk disk) : IHistoryStorage
    {
        public long LastSequence => disk.LastSequence;

        public PreviousEnd PreviousEnd => disk.LastSequence == 0 ? PreviousEnd.Unknown : disk._endedInOrder ? PreviousEnd.InOrder : PreviousEnd.NotInOrder;

        public string PreviousFileHash => "";

        public IReadOnlyList<(long Sequence, Placement Placement, HistoryRecord Record)> NewestIncident => [];

        public bool NeedsAnchor(in ClockReading now) => false;

        public long BytesWritten => 0;

        public IReadOnlyList<StoredLevel> Levels(in ClockReading now) => [];

        public void KeepLevels(IReadOnlyList<(BudgetShare Share, long Bytes)> levels)
        {
        }

        public void Commit(IReadOnlyList<PendingRecord> batch, IReadOnlyList<OutboxChange> changes, in ClockReading now, bool durable) => disk.Store(batch);

        public void Sync()
        {
        }

        public void Tidy(bool inHaste)
        {
        }

        public void Dispose()
        {
        }
    }
}

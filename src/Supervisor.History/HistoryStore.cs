using Microsoft.Data.Sqlite;
using Supervisor.History.Entries;
using Supervisor.History.Outbox;
using Supervisor.History.Reading;
using Supervisor.History.Recordings.Reading;
using Supervisor.History.Storage;
using Supervisor.History.Writing;

namespace Supervisor.History;

/// <summary>
/// What happened on the machine, kept in one file. Handing a record over never waits for the disk and never throws: a thread
/// of its own writes, and what it can't keep is counted and told. Thread-safe.
/// </summary>
public sealed class HistoryStore : IDisposable
{
    private static readonly TimeSpan DisposeTimeout = TimeSpan.FromSeconds(5);

    private readonly RecordQueue _queue;
    private readonly HistoryWriter _writer;

    private HistoryStore(HistoryOptions options)
    {
        _queue = new RecordQueue(options.QueueCapacity);
        _writer = new HistoryWriter(options, _queue);
        Reader = new HistoryReader(options.Path);
        Recordings = new RecordingReader(options.Path);
        Outbox = new OutboxReader(Reader);
    }

    /// <summary>How the history fares.</summary>
    public HistoryHealth Health => _writer.Health;

    /// <summary>Reads the same file over connections of its own.</summary>
    public HistoryReader Reader { get; }

    /// <summary>Reads the messages to a person out of the same file.</summary>
    public OutboxReader Outbox { get; }

    /// <summary>Reads recordings out of the same file, also over connections of its own.</summary>
    public RecordingReader Recordings { get; }

    /// <summary>
    /// Opens the history and starts its thread. A damaged file is set aside and begun anew; a disk that fails is told by
    /// <see cref="Health"/> and tried again.
    /// </summary>
    /// <exception cref="HistoryException">The file was written by a newer version or another program (it is left untouched), or this SQLite is too old.</exception>
    /// <exception cref="ArgumentException">An option is missing or out of range; it names which.</exception>
    public static HistoryStore Open(HistoryOptions options)
    {
        ArgumentNullException.ThrowIfNull(options);
        options.Check();
        CheckSqlite();
        try
        {
            HistoryFile.RefuseForeign(options.Path);
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException)
        {
            // The writer meets the same trouble, tells it and tries again.
        }

        var store = new HistoryStore(options);
        store._writer.Start();
        return store;
    }

    /// <summary>Hands a record over.</summary>
    /// <returns>False when there was no room for it; the loss is counted and recorded.</returns>
    public bool Append(HistoryRecord record)
    {
        ArgumentNullException.ThrowIfNull(record);
        return _queue.TryPut(new PendingRecord(record, null));
    }

    /// <summary>Hands a record over and tells when it is on disk.</summary>
    /// <returns>Ends with the record's sequence number once it is committed, or with 0 when it is lost; never faults. While a disk fails it does not end; that of a repeat beyond the bytes a day ends with the record that stands for it, up to a quarter of an hour later.</returns>
    public Task<long> AppendAsync(HistoryRecord record)
    {
        ArgumentNullException.ThrowIfNull(record);
        return PutAsync(record);
    }

    /// <summary>Hands over what becomes different in the outbox.</summary>
    /// <returns>Ends with true once it outlives a loss of power, or with false when it is lost; never faults. While a disk fails it does not end.</returns>
    public async Task<bool> ChangeAsync(OutboxChange change)
    {
        ArgumentNullException.ThrowIfNull(change);
        return await PutAsync(null, change) > 0;
    }

    /// <summary>Ends once everything handed over before is on disk or given up.</summary>
    public Task FlushAsync() => PutAsync(null);

    /// <summary>Writes down how the two clocks stand if that has changed; to be called about once a minute, so that times before a clock was set can be worked out.</summary>
    public void NoteClock() => _queue.TryPut(new PendingRecord(null, null));

    /// <summary>Takes no more records, writes what is queued and ends the thread.</summary>
    /// <returns>False when that was not done in time.</returns>
    public bool Stop(TimeSpan timeout) => _writer.Stop(timeout);

    /// <summary>As <see cref="Stop"/>, with 5 s.</summary>
    public void Dispose() => Stop(DisposeTimeout);

    private static void CheckSqlite()
    {
        using var connection = new SqliteConnection("Data Source=:memory:");
        if (!Version.TryParse(connection.ServerVersion, out var version) || version < Schema.OldestSqlite)
        {
            throw new HistoryException(
                $"SQLite {connection.ServerVersion} can damage a write-ahead log; {Schema.OldestSqlite} or later is needed. Install the package anew, with its own SQLite.");
        }
    }

    private Task<long> PutAsync(HistoryRecord? record, OutboxChange? change = null)
    {
        var done = new TaskCompletionSource<long>(TaskCreationOptions.RunContinuationsAsynchronously);
        var item = new PendingRecord(record, done) { Change = change };
        if (!_queue.TryPut(item))
        {
            item.GiveUp();
        }

        return done.Task;
    }
}

using Microsoft.Data.Sqlite;
using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Incidents;
using Supervisor.History.Outbox;
using Supervisor.History.Thrift;
using Supervisor.History.Writing;

namespace Supervisor.History.Storage;

/// <summary>The one connection that writes. Used by the writer's thread alone; any error of the disk or the file is an exception.</summary>
internal sealed class HistoryDatabase : IHistoryStorage
{
    private static readonly TimeSpan AnchorTolerance = TimeSpan.FromSeconds(1);

    // Bytes of a file that is looked through before it is used; what is larger is written to meanwhile.
    private const long CheckedAtOnce = 16_000_000;

    // Pages of the log after which it is folded into the file: between commits, and at the latest.
    private const int FoldAt = 250, FoldAtLatest = 1_000;

    private readonly SqliteConnection _connection;
    private readonly LogMeter _meter;
    private readonly RecordInserter _inserter;
    private readonly RingKeeper _rings;
    private readonly RecordingKeeper _recordings;
    private readonly BudgetTable _budget;
    private readonly OutboxTable _outbox;
    private readonly long _boot;
    private ClockReading? _anchor;
    private bool? _isDurable;
    private bool _hasUnsynced;

    private HistoryDatabase(SqliteConnection connection, LogMeter meter, HistoryOptions options)
    {
        _connection = connection;
        _meter = meter;
        _boot = BootNumber(connection, options.BootId);
        LastSequence = connection.Scalar("SELECT max(sequence) FROM records");
        PreviousEnd = HowItEnded(connection);
        PreviousFileHash = FileHashOf(connection);
        NewestIncident = IncidentRecall.Read(connection, _boot);
        _inserter = new RecordInserter(connection, _boot);
        _budget = new BudgetTable(connection, _boot);
        _outbox = new OutboxTable(connection, _boot);
        OutboxTable.Begin(connection, options.Channels);
        _rings = new RingKeeper(connection, options.MaximumPerKind);
        _recordings = new RecordingKeeper(connection, _boot, options.RecordingBytes);
    }

    /// <inheritdoc/>
    public long LastSequence { get; private set; }

    /// <inheritdoc/>
    public PreviousEnd PreviousEnd { get; }

    /// <inheritdoc/>
    public string PreviousFileHash { get; }

    /// <inheritdoc/>
    public long BytesWritten => _meter.Bytes;

    /// <inheritdoc/>
    public IReadOnlyList<(long Sequence, Placement Placement, HistoryRecord Record)> NewestIncident { get; }

    /// <summary>Opens the file, or makes it.</summary>
    /// <param name="options">Where it is.</param>
    /// <param name="writerLock">Taken when the first attempt comes so far; kept by the caller to its end, through every failure.</param>
    /// <exception cref="SqliteException">The disk or the file is at fault.</exception>
    /// <exception cref="IOException">The disk is at fault, or another process writes to the file.</exception>
    /// <exception cref="UnauthorizedAccessException">The folder may not be written to.</exception>
    /// <exception cref="HistoryException">The file must not be written by this version.</exception>
    public static HistoryDatabase Open(HistoryOptions options, ref FileStream? writerLock)
    {
        HistoryFile.RefuseForeign(options.Path);

        // Two writers would number their records alike: also one whose disk fails has given numbers that it will use. The system drops the lock
        // with the process.
        var isAnew = writerLock is not null;
        writerLock ??= new FileStream(options.Path + ".lock", FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None);
        var connection = new SqliteConnection(HistoryFile.ConnectionString(options.Path, SqliteOpenMode.ReadWriteCreate));
        try
        {
            connection.Open();

            connection.Execute("""
                PRAGMA busy_timeout = 1000;
                PRAGMA trusted_schema = OFF;
                PRAGMA journal_mode = WAL;
                PRAGMA synchronous = FULL;
                PRAGMA wal_autocheckpoint = 0;
                PRAGMA journal_size_limit = 1048576;
                """);
            var meter = new LogMeter(connection, options.Path);
            if (isAnew)
            {
                // After a sync that failed the system may take the log's pages for written: it begins anew, and what it held is synced in the file.
                meter.FoldAndEmpty();
            }

            Prepare(connection);
            return new HistoryDatabase(connection, meter, options);
        }
        catch
        {
            connection.Dispose();
            throw;
        }
    }

    /// <summary>Stores a batch in one transaction.</summary>
    public void Commit(IReadOnlyList<PendingRecord> batch, IReadOnlyList<OutboxChange> changes, in ClockReading now, bool durable)
    {
        SetDurable(durable);
        using var transaction = _connection.BeginTransaction();
        var anchor = NeedsAnchor(now);
        if (anchor)
        {
            _inserter.InsertAnchor(transaction, now);
        }

        foreach (var item in batch)
        {
            _inserter.Insert(transaction, item);
            _recordings.Insert(transaction, item);
        }

        foreach (var change in changes)
        {
            _outbox.Apply(transaction, change);
        }

        _budget.Write(transaction, now);
        _rings.Prune(transaction, batch);
        transaction.Commit();

        _budget.Written();
        _meter.Committed();
        _hasUnsynced = !durable;
        _anchor = anchor ? now : _anchor;
        LastSequence = batch.Count > 0 ? Math.Max(LastSequence, batch[^1].Sequence) : LastSequence;
    }

    /// <inheritdoc/>
    public IReadOnlyList<StoredLevel> Levels(in ClockReading now) => _budget.Read(now);

    /// <inheritdoc/>
    public void KeepLevels(IReadOnlyList<(BudgetShare Share, long Bytes)> levels) => _budget.Keep(levels);

    /// <inheritdoc/>
    public void Sync()
    {
        if (_hasUnsynced)
        {
            // The log is synced with whatever is written into it.
            SetDurable(true);
            _connection.Execute("UPDATE meta SET value = value WHERE key = 'oldestReader'");
            _meter.Committed();
            _hasUnsynced = false;
        }
    }

    /// <inheritdoc/>
    public void Tidy(bool inHaste)
    {
        if (_meter.Frames >= (inHaste ? FoldAtLatest : FoldAt))
        {
            _meter.Fold();
        }
    }

    /// <inheritdoc/>
    public bool NeedsAnchor(in ClockReading now) => _anchor is not { } last
        || last.Quality != now.Quality
        || (now.Utc - last.Utc - (now.Monotonic - last.Monotonic)).Duration() > AnchorTolerance;

    /// <inheritdoc/>
    public void Dispose()
    {
        _inserter.Dispose();
        _connection.Dispose();
    }

    // In a write-ahead log FULL syncs at each commit, NORMAL only when the log is folded in (sqlite.org/pragma.html#pragma_synchronous).
    private void SetDurable(bool durable)
    {
        if (_isDurable != durable)
        {
            _connection.Execute($"PRAGMA synchronous = {(durable ? "FULL" : "NORMAL")}");
            _isDurable = durable;
        }
    }

    private static void Prepare(SqliteConnection connection)
    {
        if (connection.Scalar("PRAGMA schema_version") == 0)
        {
            Grow(connection, 0);
            return;
        }

        // A sound foreign file was refused before; a mark that is wrong here is damage.
        if (connection.Scalar("PRAGMA application_id") != Schema.ApplicationId)
        {
            throw new SqliteException("the application id is damaged", SqliteExtensions.Corrupt);
        }

        if (connection.Scalar("PRAGMA page_count") * connection.Scalar("PRAGMA page_size") <= CheckedAtOnce)
        {
            using var check = connection.CreateCommand();
            check.CommandText = "PRAGMA quick_check(1)";
            if (check.ExecuteScalar() is string result && result != "ok")
            {
                throw new SqliteException($"quick_check: {result}", SqliteExtensions.Corrupt);
            }
        }

        var shape = (int)connection.Scalar("PRAGMA user_version");
        if (shape < 1)
        {
            throw new SqliteException("the number of its shape is damaged", SqliteExtensions.Corrupt);
        }

        if (shape < Schema.Version)
        {
            Grow(connection, shape);
        }
    }

    // All of it or nothing, whatever happens meanwhile: a file between two shapes could be read by nobody.
    private static void Grow(SqliteConnection connection, int shape)
    {
        using var transaction = connection.BeginTransaction(deferred: false);
        try
        {
            connection.Execute(Schema.Grow(shape), transaction);
        }
        catch (SqliteException exception) when (exception.SqliteErrorCode == SqliteExtensions.Error)
        {
            throw new SqliteException($"its tables are not those of shape {shape}: {exception.Message}", SqliteExtensions.Corrupt);
        }

        transaction.Commit();
    }

    private static long BootNumber(SqliteConnection connection, string bootId)
    {
        using var command = connection.CreateCommand();
        command.CommandText = """
            INSERT INTO boots (boot_id) VALUES ($id) ON CONFLICT DO NOTHING;
            SELECT boot FROM boots WHERE boot_id = $id;
            """;
        command.Parameters.AddWithValue("$id", bootId);
        return (long)command.ExecuteScalar()!;
    }

    private static string FileHashOf(SqliteConnection connection)
    {
        using var command = connection.CreateCommand();
        command.CommandText = $"SELECT detail FROM records WHERE kind = {(int)RecordKind.Start} ORDER BY sequence DESC LIMIT 1";
        return Detail.Read(command.ExecuteScalar() as string).Text("fileHash");
    }

    private static PreviousEnd HowItEnded(SqliteConnection connection) =>
        (RecordKind)connection.Scalar("SELECT kind FROM records WHERE kind IN (1, 2) ORDER BY sequence DESC LIMIT 1") switch
        {
            RecordKind.Start => PreviousEnd.NotInOrder,
            RecordKind.End => PreviousEnd.InOrder,
            _ => PreviousEnd.Unknown,
        };
}

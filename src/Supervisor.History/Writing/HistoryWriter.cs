using Microsoft.Data.Sqlite;
using Supervisor.History.Entries;
using Supervisor.History.Storage;

namespace Supervisor.History.Writing;

/// <summary>
/// The one thread that writes. It takes what is queued, stores it in one transaction and only then tells who waits for it. A
/// disk that fails is tried again until it works; what no longer fits in the queue meanwhile is counted and told.
/// </summary>
internal sealed class HistoryWriter
{
    /// <summary>Records of one transaction: enough to spread the cost of a commit, few enough that it stays short.</summary>
    private const int MaximumBatch = 256;

    private readonly HistoryOptions _options;
    private readonly RecordQueue _queue;
    private readonly Thread _thread;
    private readonly List<PendingRecord> _own = [];
    private HistoryDatabase? _database;
    private long _lastSequence;
    private long _committed;
    private TimeSpan? _failingSince;
    private bool _damaged;
    private bool _gaveUp;
    private volatile bool _stopping;
    private volatile HistoryHealth _health = new(true, "", null, 0, 0);

    public HistoryWriter(HistoryOptions options, RecordQueue queue)
    {
        _options = options;
        _queue = queue;
        _thread = new Thread(Run) { Name = "history", IsBackground = true };
    }

    public HistoryHealth Health => _health with { Lost = _queue.TotalLost };

    public void Start() => _thread.Start();

    /// <summary>Writes what is queued and ends the thread.</summary>
    /// <returns>False when it did not end in time; it then goes on in the background.</returns>
    public bool Stop(TimeSpan timeout)
    {
        _stopping = true;
        _queue.Close();
        return _thread.Join(timeout);
    }

    private void Run()
    {
        try
        {
            // Opened before the first record, so that damage is found and told at start. Nothing is lost if it fails: the first commit tries again.
            Attempt(Open);
            Loop();
            GiveUpAll();
            _database?.Dispose();
        }
        catch (Exception exception)
        {
            // The history must never take the machine down with it.
            _queue.Close();
            _health = _health with { Good = false, Message = $"The history ended by an error of its own: {exception.Message} Restart the service." };
            GiveUpAll();
        }
    }

    private void Loop()
    {
        var batch = new List<PendingRecord>(MaximumBatch);
        while (!_gaveUp)
        {
            batch.Clear();
            batch.AddRange(_own);
            _own.Clear();
            var goesOn = _queue.Take(batch, MaximumBatch, wait: batch.Count == 0, out var lost);
            if (lost.Count > 0)
            {
                batch.Add(new PendingRecord(Notices.RecordsLost(lost, _options.Clock().Monotonic), null));
            }

            if (batch.Count == 0 && !goesOn)
            {
                return;
            }

            try
            {
                Keep(batch);
            }
            catch
            {
                batch.ForEach(Lose);
                throw;
            }
        }
    }

    private void Keep(List<PendingRecord> batch)
    {
        try
        {
            while (!Attempt(() => Commit(batch)))
            {
                if (_gaveUp)
                {
                    batch.ForEach(Lose);
                    return;
                }

                _options.Pause(_options.RetryInterval);
            }
        }
        catch (Exception exception) when (exception is SqliteException or ArgumentException or InvalidOperationException or OverflowException)
        {
            // Not the disk: one of these records can't be stored. Find it, keep the others.
            KeepSingly(batch);
        }
    }

    private void KeepSingly(List<PendingRecord> batch)
    {
        if (batch.Count == 1)
        {
            Lose(batch[0]);
            return;
        }

        foreach (var item in batch)
        {
            Keep([item]);
        }
    }

    private void Lose(PendingRecord item)
    {
        if (item.IsSettled)
        {
            return;
        }

        if (item.Record is { } record)
        {
            _queue.Lose(record);
        }

        item.GiveUp();
    }

    /// <summary>Does something with the disk; false when that failed in a way that may pass.</summary>
    private bool Attempt(Action action)
    {
        if (_gaveUp)
        {
            return false;
        }

        try
        {
            action();
            return true;
        }
        catch (SqliteException exception) when (exception.IsDamage() || exception.MayPass())
        {
            _damaged |= exception.IsDamage();
            Failed(Notices.Explain(exception, _options.Path));
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException or HistoryException)
        {
            Failed(exception.Message);
        }

        return false;
    }

    private void Open()
    {
        if (_database is not null)
        {
            return;
        }

        if (!_damaged)
        {
            try
            {
                _database = HistoryDatabase.Open(_options);
            }
            catch (SqliteException exception) when (exception.IsDamage())
            {
                _damaged = true;
            }
        }

        if (_damaged)
        {
            var now = _options.Clock();
            var aside = HistoryFile.SetAside(_options.Path, now.Utc);
            _damaged = false;
            _own.Add(new PendingRecord(Notices.FileSetAside(_options.Path, aside, now.Monotonic), null));
            _database = HistoryDatabase.Open(_options);
        }

        _lastSequence = Math.Max(_lastSequence, _database!.LastSequence);
    }

    private void Commit(List<PendingRecord> batch)
    {
        Open();
        var now = _options.Clock();
        var records = batch.FindAll(item => item.Record is not null);
        foreach (var item in records)
        {
            if (item.Sequence == 0)
            {
                item.Stamp(++_lastSequence, now);
            }

            if (item.Record is StartRecord { PreviousEnd: PreviousEnd.Unknown } start)
            {
                item.Record = start with { PreviousEnd = _database!.PreviousEnd };
            }
        }

        if (records.Count > 0 || _database!.NeedsAnchor(now))
        {
            _database!.Commit(records, now);
        }

        Succeeded(records.Count, now.Monotonic);
        batch.ForEach(item => item.Acknowledge());
    }

    private void Succeeded(int records, TimeSpan now)
    {
        _committed += records;
        _health = new HistoryHealth(true, "", null, _committed, 0);
        if (_failingSince is { } since)
        {
            _failingSince = null;
            _own.Add(new PendingRecord(Notices.DiskBack(now - since, now), null));
        }
    }

    private void Failed(string message)
    {
        _database?.Dispose();
        _database = null;
        _failingSince ??= _options.Clock().Monotonic;
        _health = new HistoryHealth(false, message, _failingSince, _committed, 0);

        // One attempt is made for what is left at the end; a dead disk must not hold up a shut-down.
        _gaveUp = _stopping;
    }

    // Empty after an ordinary end.
    private void GiveUpAll()
    {
        var left = new List<PendingRecord>();
        while (_queue.Take(left, int.MaxValue, wait: false, out _) && left.Count > 0)
        {
            left.ForEach(Lose);
            left.Clear();
        }
    }
}

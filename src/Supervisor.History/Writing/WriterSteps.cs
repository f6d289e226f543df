using Microsoft.Data.Sqlite;
using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Storage;

namespace Supervisor.History.Writing;

/// <summary>What the writer does next.</summary>
internal enum WriterStep : byte
{
    /// <summary>Call again at once.</summary>
    GoOn,

    /// <summary>There is nothing to do until a record comes.</summary>
    Wait,

    /// <summary>The disk failed: call again after the retry interval.</summary>
    Pause,

    /// <summary>Everything is stored or given up.</summary>
    End,
}

/// <summary>
/// The writer as a step machine without thread, wait or clock of its own: takes what is queued, stores it in one transaction and only then
/// tells who waits for it. A disk that fails is tried again until it works; what no longer fits in the queue meanwhile is counted and told.
/// </summary>
internal sealed class WriterSteps
{
    /// <summary>Records of one transaction: enough to spread the cost of a commit, few enough that it stays short.</summary>
    private const int MaximumBatch = 256;

    private readonly HistoryOptions _options;
    private readonly RecordQueue _queue;
    private readonly Func<IHistoryStorage> _open;
    private readonly List<PendingRecord> _own = [];
    private readonly Queue<List<PendingRecord>> _batches = new();
    private IHistoryStorage? _storage;
    private long _lastSequence;
    private long _committed;
    private TimeSpan? _failingSince;
    private long _lostBefore;
    private bool _isBegun;
    private bool _damaged;
    private bool _gaveUp;
    private volatile bool _stopping;
    private volatile HistoryHealth _health = new(true, "", null, 0, 0);

    /// <param name="options">Clock, path and sizes.</param>
    /// <param name="queue">Where the records come from.</param>
    /// <param name="open">Opens the place where they stay; its exceptions are those of a disk.</param>
    public WriterSteps(HistoryOptions options, RecordQueue queue, Func<IHistoryStorage> open)
    {
        _options = options;
        _queue = queue;
        _open = open;
    }

    /// <summary>How the history fares. Any thread.</summary>
    public HistoryHealth Health => _health with { Lost = _queue.TotalLost };

    /// <summary>Takes no more records; what is queued gets one more attempt if the disk fails. Any thread.</summary>
    public void BeginStop()
    {
        _stopping = true;
        _queue.Close();
    }

    /// <summary>Does the next thing. An exception is an error of its own, after which only <see cref="GiveUp"/> is left.</summary>
    public WriterStep Next()
    {
        if (!_isBegun)
        {
            // Opened before the first record, so that damage is found and told at start. Nothing is lost if it fails: the first commit tries again.
            _isBegun = true;
            Attempt(Open);
            return WriterStep.GoOn;
        }

        if (_gaveUp)
        {
            return WriterStep.End;
        }

        if (_batches.Count == 0 && !TakeBatch(out var goesOn))
        {
            return goesOn ? WriterStep.Wait : WriterStep.End;
        }

        return Keep(_batches.Peek());
    }

    /// <summary>Loses what is left, and lets go of the storage.</summary>
    /// <param name="because">The error that ended it; null after an ordinary end.</param>
    public void GiveUp(Exception? because)
    {
        _queue.Close();
        if (because is not null)
        {
            _health = _health with { Good = false, Message = $"The history ended by an error of its own: {because.Message} Restart the service." };
        }

        while (_batches.TryDequeue(out var batch))
        {
            batch.ForEach(Lose);
        }

        var left = new List<PendingRecord>();
        while (_queue.Take(left, int.MaxValue, out _) && left.Count > 0)
        {
            left.ForEach(Lose);
            left.Clear();
        }

        _storage?.Dispose();
        _storage = null;
    }

    private bool TakeBatch(out bool goesOn)
    {
        var batch = new List<PendingRecord>(_own);
        _own.Clear();
        goesOn = _queue.Take(batch, MaximumBatch, out var lost);
        if (lost.Count > 0)
        {
            batch.Add(new PendingRecord(Notices.RecordsLost(lost, _options.Clock().Monotonic), null));
        }

        if (batch.Count == 0)
        {
            return false;
        }

        _batches.Enqueue(batch);
        return true;
    }

    private WriterStep Keep(List<PendingRecord> batch)
    {
        try
        {
            if (!Attempt(() => Commit(batch)))
            {
                return _gaveUp ? WriterStep.End : WriterStep.Pause;
            }

            _batches.Dequeue();
        }
        catch (Exception exception) when (exception is SqliteException or ArgumentException or InvalidOperationException or OverflowException)
        {
            // Not the disk: one of these records can't be stored. Find it, keep the others.
            _batches.Dequeue();
            KeepSingly(batch);
        }

        return WriterStep.GoOn;
    }

    private void KeepSingly(List<PendingRecord> batch)
    {
        if (batch.Count == 1)
        {
            Lose(batch[0]);
            return;
        }

        // Nothing else waits here: a batch is only taken when none is left.
        batch.ForEach(item => _batches.Enqueue([item]));
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
        if (_storage is not null)
        {
            return;
        }

        if (!_damaged)
        {
            try
            {
                _storage = _open();
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
            _storage = _open();
        }

        _lastSequence = Math.Max(_lastSequence, _storage!.LastSequence);
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
                Complete(item, now);
            }
        }

        if (records.Count > 0 || _storage!.NeedsAnchor(now))
        {
            _storage!.Commit(records, now);
        }

        Succeeded(records.Count, now.Monotonic);
        batch.ForEach(item => item.Acknowledge());
    }

    /// <summary>
    /// Says what only the writer knows, once: after a commit that had succeeded although an error was told, the last record of the file is this
    /// very start, and no later look tells how the run before it ended.
    /// </summary>
    private void Complete(PendingRecord item, in ClockReading now)
    {
        item.Stamp(++_lastSequence, now);
        if (item.Record is StartRecord { PreviousEnd: PreviousEnd.Unknown } start)
        {
            item.Record = start with { PreviousEnd = _storage!.PreviousEnd };
        }
    }

    private void Succeeded(int records, TimeSpan now)
    {
        _committed += records;
        _health = new HistoryHealth(true, "", null, _committed, 0);
        if (_failingSince is { } since)
        {
            _failingSince = null;
            _own.Add(new PendingRecord(Notices.DiskBack(now - since, _queue.TotalLost - _lostBefore, now), null));
        }
    }

    private void Failed(string message)
    {
        _storage?.Dispose();
        _storage = null;
        if (_failingSince is null)
        {
            _failingSince = _options.Clock().Monotonic;
            _lostBefore = _queue.TotalLost;
        }

        _health = new HistoryHealth(false, message, _failingSince, _committed, 0);

        // One attempt is made for what is left at the end; a dead disk must not hold up a shut-down.
        _gaveUp = _stopping;
    }
}

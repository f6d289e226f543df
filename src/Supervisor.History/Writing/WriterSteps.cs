using Microsoft.Data.Sqlite;
using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Incidents;
using Supervisor.History.Outbox;
using Supervisor.History.Storage;
using Supervisor.History.Thrift;

namespace Supervisor.History.Writing;

/// <summary>
/// The writer as a step machine without thread, wait or clock of its own: takes what is queued, stores it in one transaction and only then
/// tells who waits for it. A disk that fails is tried again until it works; what no longer fits in the queue meanwhile is counted and told.
/// </summary>
internal sealed class WriterSteps
{
    /// <summary>Records of one transaction: enough to spread the cost of a commit, few enough that it stays short.</summary>
    public const int BulkBatch = 256;

    // With something pressing at its end a transaction takes more, as each would wait for a sync of its own.
    private const int PressingBatch = 2_048;

    private readonly HistoryOptions _options;
    private readonly RecordQueue _queue;
    private readonly StorageKeeper _keeper;
    private readonly IncidentSteps _incidents;
    private readonly Sieve _sieve;
    private readonly Stack<List<PendingRecord>> _batches = new();
    private long _lastSequence;
    private long _committed;
    private long _lostBefore;
    private bool _isRecalled;
    private bool _isBegun;
    private bool _hasLingered;
    private bool _gaveUp;
    private volatile bool _stopping;
    private volatile int _condemned = -1;
    private volatile HistoryHealth _health = new(true, "", null, 0, 0);

    /// <param name="options">Clock, path and sizes.</param>
    /// <param name="queue">Where the records come from.</param>
    /// <param name="open">Opens the place where they stay; its exceptions are those of a disk.</param>
    public WriterSteps(HistoryOptions options, RecordQueue queue, Func<IHistoryStorage> open)
    {
        _options = options;
        _queue = queue;
        _keeper = new StorageKeeper(options, open);
        _incidents = new IncidentSteps(options.Incidents);
        _sieve = new Sieve(options.BytesPerDay);
    }

    /// <summary>How the history fares. Any thread.</summary>
    public HistoryHealth Health => _health with { Lost = _queue.TotalLost };

    /// <summary>Called after each commit with the monotonic time and the number of the file.</summary>
    public Action<TimeSpan, int>? Committed { get; set; }

    /// <summary>How long to wait at <see cref="WriterStep.Linger"/>.</summary>
    public TimeSpan LingerTime => _sieve.Linger(_options.BulkInterval);

    /// <summary>A file was found damaged: it is set aside, and a new one begun. Any thread.</summary>
    /// <param name="fileNumber">Its number.</param>
    public void Condemn(int fileNumber)
    {
        _condemned = fileNumber;

        // Wakes the writer; where there is no room it is awake.
        _queue.TryPut(new PendingRecord(null, null));
    }

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
            Attempt(_ => { });
            return WriterStep.GoOn;
        }

        if (_gaveUp)
        {
            return WriterStep.End;
        }

        if (_batches.Count == 0)
        {
            if (_keeper.Notices.Count == 0 && !_hasLingered && _queue.MayLinger(BulkBatch))
            {
                _hasLingered = true;
                return WriterStep.Linger;
            }

            _hasLingered = false;
            if (!TakeBatch(out var goesOn))
            {
                return goesOn ? WriterStep.Wait : WriterStep.End;
            }
        }

        if (_condemned >= 0)
        {
            _keeper.Condemn(_condemned);
            _condemned = -1;
        }

        var step = Keep(_batches.Peek());
        if (_batches.Count == 0 && !_stopping)
        {
            // Who waited knows by now.
            Attempt(storage => storage.Tidy(_queue.HasPressing));
        }

        return step;
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

        while (_batches.TryPop(out var batch))
        {
            batch.ForEach(Lose);
        }

        _sieve.TakeAll().ForEach(Lose);
        _queue.TakeAll().ForEach(Lose);
        _keeper.Close();
    }

    private bool TakeBatch(out bool goesOn)
    {
        var batch = new List<PendingRecord>();
        while (_keeper.Notices.TryDequeue(out var notice))
        {
            batch.Add(new PendingRecord(notice, null));
        }

        goesOn = _queue.Take(batch, BulkBatch, PressingBatch, out var lost);
        if (lost.Count > 0)
        {
            batch.Add(new PendingRecord(Notices.RecordsLost(lost, _options.Clock().Monotonic), null));
        }

        if (batch.Count == 0 && !goesOn && _sieve.Holds)
        {
            // The end: a mark that has everything written that is held.
            batch.Add(new PendingRecord(null, new TaskCompletionSource<long>()));
        }

        if (batch.Count == 0)
        {
            return false;
        }

        _batches.Push(batch);
        return true;
    }

    private WriterStep Keep(List<PendingRecord> batch)
    {
        try
        {
            if (!Attempt(storage => Commit(storage, batch)))
            {
                return _gaveUp ? WriterStep.End : WriterStep.Pause;
            }

            _batches.Pop();
        }
        catch (Exception exception) when (exception is SqliteException or ArgumentException or InvalidOperationException or OverflowException)
        {
            // Not the disk: one of these records can't be stored. Find it, keep the others.
            _batches.Pop();
            Halve(batch);
        }

        return WriterStep.GoOn;
    }

    private void Halve(List<PendingRecord> batch)
    {
        if (batch.Count == 1)
        {
            Lose(batch[0]);
            return;
        }

        var middle = batch.Count / 2;
        _batches.Push(batch[middle..]);
        _batches.Push(batch[..middle]);
    }

    private void Lose(PendingRecord item)
    {
        if (item.IsSettled)
        {
            return;
        }

        if (item.Record is { } record)
        {
            _queue.Lose(record, item.Count);
        }

        item.GiveUp();
    }

    private void Commit(IHistoryStorage storage, List<PendingRecord> batch)
    {
        _lastSequence = Math.Max(_lastSequence, storage.LastSequence);
        var now = _options.Clock();
        if (!_isRecalled)
        {
            _incidents.Recall(storage.NewestIncident);
            _isRecalled = true;
        }

        _sieve.Sift(batch, storage, now, all: batch.Exists(item => item.IsFlush));
        var records = batch.FindAll(item => item.Record is not null);
        foreach (var item in records)
        {
            if (item.Sequence == 0)
            {
                Complete(item, now, storage);
            }
        }

        var durable = batch.Exists(item => item.IsPressing);
        var changes = batch.Select(item => item.Change).OfType<OutboxChange>().ToArray();
        if (records.Count > 0 || changes.Length > 0 || storage.NeedsAnchor(now))
        {
            storage.Commit(records, changes, now, durable);
        }
        else if (durable)
        {
            storage.Sync();
        }

        _sieve.Spent(records, storage);
        Succeeded(records.Sum(item => item.Count), now.Monotonic);
        Committed?.Invoke(now.Monotonic, _keeper.FileNumber);
        batch.ForEach(item => item.Acknowledge());
    }

    /// <summary>
    /// Says what only the writer knows, once: after a commit that had succeeded although an error was told, the last record of the file is this
    /// very start, and no later look tells how the run before it ended.
    /// </summary>
    private void Complete(PendingRecord item, in ClockReading now, IHistoryStorage storage)
    {
        item.Stamp(++_lastSequence, now);
        if (item.Record is StartRecord { PreviousEnd: PreviousEnd.Unknown } start)
        {
            item.Record = start with { PreviousEnd = storage.PreviousEnd, PreviousFileHash = storage.PreviousFileHash };
        }

        item.Placement = _incidents.Place(item.Sequence, item.Record!);
    }

    private void Succeeded(long records, TimeSpan now)
    {
        _committed += records;
        if (_keeper.Succeeded(now) is { } failed)
        {
            _keeper.Notices.Enqueue(Notices.DiskBack(failed, _queue.TotalLost - _lostBefore, now));
        }

        _health = new HistoryHealth(true, "", null, _committed, 0) { Collapsed = _sieve.Collapsed, IsSparing = _sieve.IsSparing, BytesWritten = _sieve.BytesWritten };
    }

    private bool Attempt(Action<IHistoryStorage> action)
    {
        var wasFailing = _keeper.FailingSince is not null;
        if (_keeper.Attempt(action))
        {
            return true;
        }

        _lostBefore = wasFailing ? _lostBefore : _queue.TotalLost;
        _health = _health with { Good = false, Message = _keeper.Problem, FailingSince = _keeper.FailingSince };

        // One attempt is made for what is left at the end; a dead disk must not hold up a shut-down.
        _gaveUp = _stopping;
        return false;
    }
}

using Supervisor.History.Entries;

namespace Supervisor.History.Writing;

/// <summary>Records waiting for the writer: bounded, any number of threads put, one takes. Putting never waits for the disk.</summary>
internal sealed class RecordQueue
{
    private readonly object _gate = new();
    private readonly PendingRecord[] _items;
    private readonly int _commonCapacity;
    private int _first;
    private int _count;

    // Places from the first on that hold everything pressing.
    private int _pressing;
    private int _lingersFor;
    private bool _closed;
    private LostRecords _lost;
    private long _totalLost;

    public RecordQueue(int capacity)
    {
        _items = new PendingRecord[capacity];
        _commonCapacity = capacity - (capacity / 4);
    }

    /// <summary>Records lost since the queue was made.</summary>
    public long TotalLost => Volatile.Read(ref _totalLost);

    /// <summary>Puts a record at the end; false when there is no room or the queue is closed, and the loss is counted.</summary>
    public bool TryPut(PendingRecord item)
    {
        lock (_gate)
        {
            if (_closed || _count >= (item.IsVital ? _items.Length : _commonCapacity))
            {
                if (item.Record is { } record)
                {
                    CountLost(record);
                    Monitor.Pulse(_gate);
                }

                return false;
            }

            _items[(_first + _count) % _items.Length] = item;
            _count++;
            _pressing = item.IsPressing ? _count : _pressing;
            if (_lingersFor == 0 || item.IsPressing || _count >= _lingersFor)
            {
                Monitor.Pulse(_gate);
            }

            return true;
        }
    }

    /// <summary>Counts a record that was taken and could not be kept, or so many that it stands for.</summary>
    public void Lose(HistoryRecord record, long count = 1)
    {
        lock (_gate)
        {
            CountLost(record, count);
        }
    }

    /// <summary>Blocks until there is something to take, or the queue is closed.</summary>
    public void Wait()
    {
        lock (_gate)
        {
            while (_count == 0 && _lost.Count == 0 && !_closed)
            {
                Monitor.Wait(_gate);
            }
        }
    }

    /// <summary>True while something is queued that is to be on the disk at once.</summary>
    public bool HasPressing
    {
        get
        {
            lock (_gate)
            {
                return _pressing > 0;
            }
        }
    }

    /// <summary>True while all that is queued may wait for more, and is less than a batch.</summary>
    public bool MayLinger(int batch)
    {
        lock (_gate)
        {
            return CanLinger(batch) && _count > 0;
        }
    }

    /// <summary>Blocks until something pressing comes, a batch has gathered, the queue is closed or the time is over.</summary>
    public void Linger(int batch, TimeSpan time)
    {
        lock (_gate)
        {
            if (CanLinger(batch))
            {
                _lingersFor = batch;
                Monitor.Wait(_gate, time);
                _lingersFor = 0;
            }
        }
    }

    /// <summary>Takes the next batch, and what was lost since the last call. Never waits.</summary>
    /// <param name="into">Gets the records.</param>
    /// <param name="limit">Most records, unless something pressing is queued.</param>
    /// <param name="pressingLimit">Most records when something pressing is queued: it and all before it go at once, so that it waits behind nothing.</param>
    /// <param name="lost">What could not be kept.</param>
    /// <returns>False once the queue is closed and empty.</returns>
    public bool Take(List<PendingRecord> into, int limit, int pressingLimit, out LostRecords lost)
    {
        lock (_gate)
        {
            for (var left = Math.Max(limit, Math.Min(_pressing, pressingLimit)); _count > 0 && left > 0; left--)
            {
                into.Add(_items[_first]);
                _items[_first] = null!;
                _first = (_first + 1) % _items.Length;
                _count--;
                _pressing = Math.Max(0, _pressing - 1);
            }

            // What was lost came behind what is still queued: it is told once that is taken.
            lost = default;
            if (_count == 0)
            {
                (lost, _lost) = (_lost, default);
            }

            return into.Count > 0 || lost.Count > 0 || !_closed;
        }
    }

    /// <summary>Takes everything.</summary>
    public List<PendingRecord> TakeAll()
    {
        var all = new List<PendingRecord>();
        Take(all, int.MaxValue, int.MaxValue, out _);
        return all;
    }

    /// <summary>Refuses further records; what is queued can still be taken.</summary>
    public void Close()
    {
        lock (_gate)
        {
            _closed = true;
            Monitor.Pulse(_gate);
        }
    }

    private bool CanLinger(int batch) => _pressing == 0 && _count < batch && _lost.Count == 0 && !_closed;

    private void CountLost(HistoryRecord record, long count = 1)
    {
        Volatile.Write(ref _totalLost, _totalLost + count);
        _lost = _lost.With(record, count);
    }
}

/// <summary>Records that could not be kept.</summary>
/// <param name="Count">How many.</param>
/// <param name="Faults">How many of them were faults.</param>
/// <param name="First">When the first of them happened.</param>
/// <param name="Last">When the last of them happened.</param>
internal readonly record struct LostRecords(long Count, long Faults, TimeSpan First, TimeSpan Last)
{
    public LostRecords With(HistoryRecord record, long count) => new(
        Count + count, Faults + (record is FaultRecord ? count : 0), Count == 0 ? record.At : First, record.At);
}

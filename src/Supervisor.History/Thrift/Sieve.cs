using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Storage;
using Supervisor.History.Writing;

namespace Supervisor.History.Thrift;

/// <summary>
/// Holds the budget of bytes: while a share of it is used up, repeats in that share are collapsed, and what is new is written all the same. Used by
/// the writer's thread alone.
/// </summary>
internal sealed class Sieve
{
    /// <summary>Longest time that a repeat is counted and not told.</summary>
    private static readonly TimeSpan HoldTime = TimeSpan.FromMinutes(15);

    private static readonly TimeSpan LongLinger = TimeSpan.FromMinutes(1), LongestLinger = TimeSpan.FromMinutes(10);

    private readonly WriteBudget _budget;
    private readonly Repeats[] _repeats = [.. Enumerable.Range(0, WriteBudget.Count).Select(_ => new Repeats())];
    private readonly bool[] _isSparing = new bool[WriteBudget.Count];
    private readonly long _bytesPerDay;
    private bool _isTakenUp;
    private long _unkept;
    private IHistoryStorage? _counted;
    private long _countedBytes;

    /// <param name="bytesPerDay">The budget.</param>
    public Sieve(long bytesPerDay)
    {
        _bytesPerDay = bytesPerDay;
        _budget = new WriteBudget(bytesPerDay);
    }

    /// <summary>Repeats that were collapsed since the start.</summary>
    public long Collapsed { get; private set; }

    /// <summary>True while a share is used up.</summary>
    public bool IsSparing => _isSparing.AsSpan(0, (int)BudgetShare.Others).Contains(true);

    /// <summary>True while repeats are counted and not told.</summary>
    public bool Holds => _repeats.Any(share => share.Held > 0);

    /// <summary>Bytes written since the start.</summary>
    public long BytesWritten { get; private set; }

    /// <summary>How long bulk may wait: longer while its shares run low, so that more goes into one commit.</summary>
    public TimeSpan Linger(TimeSpan usual)
    {
        var left = Math.Min(_budget.Left(BudgetShare.Commands), _budget.Left(BudgetShare.Interlocks));
        var (times, longest) = left switch { < 0.25 => (300, LongestLinger), < 0.5 => (30, LongLinger), _ => (1, usual) };
        return usual * times < longest ? usual * times : longest;
    }

    /// <summary>Takes repeats out of a batch, and puts in what is to be told of those before.</summary>
    /// <param name="batch">What is to be committed; what has its number already stays.</param>
    /// <param name="storage">Where it goes.</param>
    /// <param name="now">The clocks now.</param>
    /// <param name="all">True: tell everything that is held.</param>
    public void Sift(List<PendingRecord> batch, IHistoryStorage storage, in ClockReading now, bool all)
    {
        if (!_isTakenUp)
        {
            _isTakenUp = true;
            foreach (var level in storage.Levels(now))
            {
                _budget.TakeUp(level.Share, level.Bytes, level.Since);
            }
        }

        _budget.Fill(now.Monotonic);
        var at = now.Monotonic;
        batch.RemoveAll(item => item is { Record: { } record, Sequence: 0, Count: 1 } && IsCollapsed(BudgetShares.Of(record.Kind), item, at));
        for (var share = 0; share < _repeats.Length; share++)
        {
            TellHeld(batch, (BudgetShare)share, at, all);
        }
    }

    /// <summary>Counts what a commit cost against the shares of what was in it.</summary>
    public void Spent(IReadOnlyList<PendingRecord> records, IHistoryStorage storage)
    {
        var bytes = storage.BytesWritten - (ReferenceEquals(storage, _counted) ? _countedBytes : 0);
        (_counted, _countedBytes) = (storage, storage.BytesWritten);
        if (bytes <= 0)
        {
            return;
        }

        BytesWritten += bytes;

        // Recordings have a bound of their own; they are written into the log and into the file.
        bytes -= Math.Min(bytes, 2 * records.Sum(item => (long)(item.Record is RecordingRecord { Content: { } content } ? content.Bytes : 0)));
        foreach (var share in records.CountBy(item => BudgetShares.Of(item.Record!.Kind)).DefaultIfEmpty(new(BudgetShare.Others, 1)))
        {
            _budget.Spend(share.Key, (double)bytes * share.Value / Math.Max(1, records.Count));
        }

        _unkept += bytes;
        if (_unkept > _bytesPerDay / 16)
        {
            _unkept = 0;
            storage.KeepLevels([.. Enumerable.Range(0, WriteBudget.Count).Select(share => ((BudgetShare)share, _budget.Level((BudgetShare)share)))]);
        }
    }

    /// <summary>Hands over what is held, to be lost.</summary>
    public List<PendingRecord> TakeAll() => [.. _repeats.SelectMany(share => share.Take())];

    private bool IsCollapsed(BudgetShare share, PendingRecord item, TimeSpan now)
    {
        if (!_budget.IsSparing(share) || !_repeats[(int)share].TryCollapse(item, now))
        {
            return false;
        }

        Collapsed++;
        return true;
    }

    private void TellHeld(List<PendingRecord> batch, BudgetShare share, TimeSpan now, bool all)
    {
        var repeats = _repeats[(int)share];
        var isSparing = _budget.IsSparing(share);
        if (repeats.Held > 0 && (all || !isSparing || now - repeats.Since >= HoldTime))
        {
            batch.AddRange(repeats.Take());
        }

        if (isSparing && !_isSparing[(int)share] && share != BudgetShare.Others)
        {
            batch.Add(new PendingRecord(Notices.Sparing(share.Name(), _bytesPerDay, now), null));
        }

        if (!isSparing)
        {
            repeats.Forget();
        }

        _isSparing[(int)share] = isSparing;
    }
}

/// <summary>What a share had left when that was last written down.</summary>
/// <param name="Share">Whose.</param>
/// <param name="Bytes">What was left.</param>
/// <param name="Since">Time since then; zero when the clocks do not tell.</param>
internal readonly record struct StoredLevel(BudgetShare Share, long Bytes, TimeSpan Since);

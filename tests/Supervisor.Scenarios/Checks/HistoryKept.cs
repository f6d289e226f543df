using Supervisor.History.Entries;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>
/// What is told is on disk exactly once, or counted and told as lost: whatever the disk does. It is acknowledged only once it is there, soon
/// after the disk takes it, in order, under one number, and stamped with a time of day that the wall clock said or would have said.
/// </summary>
public sealed class HistoryKept(StoryWorld world) : Checker(world)
{
    // Batches of a disk that is back, one commit after the other, and the pause before the next attempt.
    private static readonly TimeSpan Soon = TimeSpan.FromSeconds(3);
    private readonly Dictionary<HistoryRecord, long> _numbers = new(ReferenceEqualityComparer.Instance);
    private TimeSpan _badAt;
    private TimeSpan _lostAt;
    private long _last;
    private long _toldLost;
    private long _lost;

    /// <inheritdoc/>
    public override void OnStart()
    {
        _numbers.Clear();
        (_toldLost, _lost, _lostAt) = (0, 0, Now);
    }

    /// <inheritdoc/>
    public override void OnTold(ToldRecord told) => _numbers[told.Record] = 0;

    /// <inheritdoc/>
    public override void OnStored(in StoredRow row)
    {
        Looks++;
        if (row.Sequence <= _last)
        {
            Find(-1, $"record {row.Sequence} was stored after record {_last}");
        }

        _last = row.Sequence;
        if (!World.Clock.Says(row.Utc, row.Record.At))
        {
            Find(-1, $"record {row.Sequence} of {row.Record.At.TotalSeconds:0.000} s is stamped {row.Utc:O}, which no clock said");
        }

        if (row.Record is StartRecord)
        {
            // What came before is the last word of the supervisor before this one, which may have ended late.
            _toldLost = 0;
        }
        else if (row.Record is NoticeRecord { Notice: NoticeKind.RecordsLost } notice)
        {
            _toldLost += notice.Count;
        }
        else if (_numbers.TryGetValue(row.Record, out var number))
        {
            _numbers[row.Record] = row.Sequence;
            if (number != 0)
            {
                Find(-1, $"{row.Record} is stored under {number} and under {row.Sequence}");
            }
        }
    }

    /// <inheritdoc/>
    public override void OnClash(long sequence) => Find(-1, $"two records came under the number {sequence}");

    /// <inheritdoc/>
    public override void OnAcknowledged(ToldRecord told, long sequence)
    {
        Looks++;
        if (sequence != 0 && World.Disk.Row(sequence) is var kept && !ReferenceEquals(kept, told.Record) && told.Record is not StartRecord)
        {
            Find(-1, $"{told.Record} was acknowledged as {sequence}, and the disk has {kept?.ToString() ?? "nothing"} there");
        }
    }

    /// <inheritdoc/>
    public override void OnStep()
    {
        _badAt = World.Disk.IsGood && World.Disk.DoubtfulCommits == 0 ? _badAt : Now;
        if (World.History is not { } history || Now - _badAt < Soon)
        {
            return;
        }

        foreach (var told in history.Waiting)
        {
            // One that was let go by the supervisor before holds the file for as long as it may.
            if (Now - told.At > Soon * 3)
            {
                Find(-1, $"{told.Record} was told at {told.At.TotalSeconds:0.000} s, the disk is good, and it is neither kept nor lost");
            }
        }

        JudgeLosses(history);
    }

    /// <summary>What did not fit is counted, and the count is on disk once there is room again.</summary>
    private void JudgeLosses(StoryHistory history)
    {
        if (history.Lost != _lost)
        {
            (_lost, _lostAt) = (history.Lost, Now);
        }

        if (history.Health.Lost != history.Lost)
        {
            Find(-1, $"{history.Lost} records were refused or given up; the history counts {history.Health.Lost}");
        }
        else if (_toldLost != history.Lost && Now - _lostAt > Soon * 3)
        {
            Find(-1, $"{history.Lost} records are lost; its notices tell of {_toldLost}");
        }
    }
}

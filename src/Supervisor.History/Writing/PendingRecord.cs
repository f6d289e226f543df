using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Incidents;
using Supervisor.History.Outbox;

namespace Supervisor.History.Writing;

/// <summary>A record on its way to the disk. Its number and time of day are given once, so that a repeated attempt can't store it twice.</summary>
/// <param name="record">The record; null for a mark that only waits for what is before it.</param>
/// <param name="waiter">Told once the record is on disk or given up; null when nobody waits.</param>
/// <param name="isPatient">Who waits does not want it sooner than it would come anyway.</param>
internal sealed class PendingRecord(HistoryRecord? record, TaskCompletionSource<long>? waiter, bool isPatient = false)
{
    public HistoryRecord? Record { get; set; } = record;

    /// <summary>What becomes different in the outbox, instead of a record; null: nothing.</summary>
    public OutboxChange? Change { get; init; }

    /// <summary>True for a mark that waits for what is before it, counted repeats among them.</summary>
    public bool IsFlush => Record is null && Change is null && IsAwaited;

    /// <summary>How many alike it stands for; the record is the first of them.</summary>
    public long Count { get; init; } = 1;

    /// <summary>When the last of them happened.</summary>
    public TimeSpan Last { get; init; }

    /// <summary>Those of them that somebody waits for.</summary>
    public IReadOnlyList<PendingRecord> StandsFor { get; init; } = [];

    /// <summary>Somebody waits for it.</summary>
    public bool IsAwaited => waiter is not null;

    /// <summary>Sequence number; 0 until stamped.</summary>
    public long Sequence { get; private set; }

    public DateTimeOffset Utc { get; private set; }

    public UtcQuality Quality { get; private set; }

    /// <summary>Whether it may take the part of the queue that is kept for what must not be lost.</summary>
    public bool IsVital => Record is not { IsBulk: true };

    /// <summary>Whether it is to be on the disk, synced, as soon as can be: because of what it tells, or because somebody waits for that.</summary>
    public bool IsPressing => (waiter is not null && !isPatient) || Record is { IsBulk: false };

    /// <summary>Which incident it belongs to; of none until placed.</summary>
    public Placement Placement { get; set; }

    /// <summary>Gives number and time of day, reckoned back from now to when it happened.</summary>
    public void Stamp(long sequence, in ClockReading now)
    {
        Sequence = sequence;
        Quality = now.Quality;
        var ticks = (Int128)now.Utc.UtcTicks - now.Monotonic.Ticks + Record!.At.Ticks;
        Utc = ticks >= 0 && ticks <= DateTimeOffset.MaxValue.UtcTicks ? new DateTimeOffset((long)ticks, TimeSpan.Zero) : now.Utc;
    }

    /// <summary>True once its end has been told.</summary>
    public bool IsSettled { get; private set; }

    /// <summary>Tells the waiter that the record is on disk.</summary>
    public void Acknowledge() => Settle(Record is null ? 1 : Sequence);

    /// <summary>Tells the waiter that the record is lost.</summary>
    public void GiveUp() => Settle(0);

    private void Settle(long result)
    {
        IsSettled = true;
        waiter?.TrySetResult(result);
        foreach (var item in StandsFor)
        {
            item.Settle(result);
        }
    }
}

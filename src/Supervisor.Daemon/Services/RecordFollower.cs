using Grpc.Core;
using Supervisor.History;
using Supervisor.History.Reading;

namespace Supervisor.Daemon.Services;

/// <summary>Reads on behind a number for ever, and tells what is missing in between. It asks the file only when something was committed.</summary>
/// <param name="history">What is followed.</param>
/// <param name="filter">Which records to send.</param>
/// <param name="send">Sends a record.</param>
/// <param name="tellGap">Tells first and last number of a stretch, and how many of it have no record.</param>
/// <param name="tellThrough">Tells that everything up to a number was sent.</param>
internal sealed class RecordFollower(
    HistoryStore history, HistoryFilter filter, Func<StoredRecord, Task> send, Func<long, long, long, Task> tellGap, Func<long, Task> tellThrough)
{
    // Numbers of one look: few enough that a gap is told near where it is, enough that a long way back is soon made up.
    private const int Stretch = HistoryFilter.MaximumLimit;
    private static readonly TimeSpan Look = TimeSpan.FromMilliseconds(50);

    /// <summary>Runs until cancelled.</summary>
    /// <param name="after">Number to begin behind; null: the newest one.</param>
    /// <param name="cancellation">Ends it.</param>
    public async Task RunAsync(long? after, CancellationToken cancellation)
    {
        var seen = history.Health.Committed;
        var newest = Newest();
        if (after > newest)
        {
            throw ApiErrors.Error(
                StatusCode.OutOfRange, "SEQUENCE_NOT_GIVEN_YET",
                $"number {after} is not given yet, the newest is {newest}: this is another history, which was begun anew; begin with 0", ("field", "after_sequence"));
        }

        var position = after ?? newest;
        for (var quiet = StreamPace.Heartbeat; ; quiet += Look)
        {
            var committed = history.Health.Committed;
            if (committed != seen || quiet >= StreamPace.Heartbeat)
            {
                seen = committed;
                position = await CatchUpAsync(position, cancellation);
                await tellThrough(position);
                quiet = TimeSpan.Zero;
            }

            await Task.Delay(Look, cancellation);
        }
    }

    private async Task<long> CatchUpAsync(long position, CancellationToken cancellation)
    {
        for (var newest = Newest(); position < newest; newest = Newest())
        {
            cancellation.ThrowIfCancellationRequested();
            position = await SkipAsync(position);
            var through = Math.Min(newest, position + Stretch);
            if (history.Reader.Missing(position, through) is > 0 and var missing)
            {
                await tellGap(position + 1, through, missing);
            }

            foreach (var record in history.Reader.Query(filter with { OldestFirst = true, AfterSequence = position, BeforeSequence = through + 1, Limit = Stretch }).Records)
            {
                await send(record);
            }

            position = through;
        }

        return position;
    }

    /// <summary>Over what is gone as a whole, in one step.</summary>
    private async Task<long> SkipAsync(long position)
    {
        var oldest = history.Reader.Query(new HistoryFilter { OldestFirst = true, AfterSequence = position, Limit = 1 }).Records;
        if (oldest is not [var first, ..] || first.Sequence == position + 1)
        {
            return position;
        }

        await tellGap(position + 1, first.Sequence - 1, first.Sequence - 1 - position);
        return first.Sequence - 1;
    }

    private long Newest() => history.Reader.Query(new HistoryFilter { Limit = 1 }).Records is [var newest, ..] ? newest.Sequence : 0;
}

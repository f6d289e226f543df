using Supervisor.History;
using Supervisor.History.Entries;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.Storm;

/// <summary>Hands over faults, a few at a time unacknowledged, and commands in between that nobody waits for.</summary>
internal sealed class Producer(HistoryStore store, AcknowledgementFile notes, ulong run, int number, ulong records)
{
    private const int MostUnacknowledged = 8;
    private const ulong RunSpan = 1_000_000_000, ProducerSpan = 100_000_000;

    public void Run()
    {
        var waiting = new Queue<(ulong Id, Task<long> Kept)>();
        var before = (run * RunSpan) + ((ulong)number * ProducerSpan);
        for (var id = before + 1; id <= before + records; id++)
        {
            waiting.Enqueue((id, store.AppendAsync(Fault(id))));
            if (id % 3 == 0)
            {
                store.Append(new CommandRecord(
                    TimeSpan.Zero, id, $"move axis {number}", "storm", $"axis {number}", Outcome.Refused, Refusal.PositionLimit, FaultCode.None, "The axis ends there."));
            }

            while (waiting.Count >= (int)(id % MostUnacknowledged) + 1)
            {
                Settle(waiting.Dequeue());
            }
        }

        while (waiting.TryDequeue(out var left))
        {
            Settle(left);
        }
    }

    private void Settle((ulong Id, Task<long> Kept) told)
    {
        if (told.Kept.GetAwaiter().GetResult() is var sequence and not 0)
        {
            notes.Note(told.Id, sequence);
        }
    }

    private FaultRecord Fault(ulong id) => new(
        TimeSpan.Zero, $"axis {number}", "line", null, FaultCode.FollowingError, FaultCatalogue.ClassOf(FaultCode.FollowingError), 0, AxisState.Moving, id, id);
}

using System.Runtime.Versioning;
using Supervisor.Bus;
using Supervisor.History;

namespace Supervisor.Benchmarks.Kept;

/// <summary>Many records at once.</summary>
[SupportedOSPlatform("linux")]
internal static class Storm
{
    private const int Threads = 4;

    // Of each thread; together a quarter of the queue.
    private const int Unacknowledged = 256;

    /// <summary>Stores so many records, six of ten of them faults.</summary>
    public static void Fill(HistoryStore store, int records)
    {
        var waiting = new Queue<Task<long>>();
        for (var number = 0; number < records; number++)
        {
            if (number % 10 >= 6)
            {
                store.Append(Samples.Command(number));
                continue;
            }

            waiting.Enqueue(store.AppendAsync(Samples.Fault(number)));
            if (waiting.Count > 4 * Unacknowledged)
            {
                waiting.Dequeue().Wait();
            }
        }
    }

    /// <summary>Faults acknowledged a second by threads that hand them over without end.</summary>
    public static double Rate(HistoryStore store, HistoryPlace place, TimeSpan round)
    {
        var acknowledged = 0L;
        var end = MonotonicClock.System.Now + round;
        var threads = Enumerable.Range(0, Threads).Select(thread => new Thread(() =>
        {
            var waiting = new Queue<Task<long>>();
            for (var number = thread; MonotonicClock.System.Now < end; number++)
            {
                waiting.Enqueue(store.AppendAsync(Samples.Fault(number)));
                if (waiting.Count >= Unacknowledged && waiting.Dequeue().Result != 0)
                {
                    Interlocked.Increment(ref acknowledged);
                }
            }
        })).ToArray();
        var took = place.Time(() =>
        {
            Array.ForEach(threads, thread => thread.Start());
            Array.ForEach(threads, thread => thread.Join());
        });
        return acknowledged / took.TotalSeconds;
    }
}

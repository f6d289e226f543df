using System.Diagnostics;
using System.Globalization;
using Supervisor.History;
using Supervisor.History.Clocks;

namespace Supervisor.Storm;

/// <summary>
/// A process that writes faults into a history as fast as they are acknowledged, so many by each of its producers, so that another can kill it, take
/// its disk away or watch what it writes: <c>Supervisor.Storm FOLDER RUN [RECORDS]</c>. It keeps <c>FOLDER/history.db</c> and notes each acknowledgement in <c>FOLDER/acknowledged</c>,
/// and at its end the bytes that the history says it has written in <c>FOLDER/written</c>. It says <c>good</c>, or what is wrong, whenever that changes.
/// </summary>
internal static class Program
{
    private const int Producers = 3;

    public static int Main(string[] arguments)
    {
        if (arguments.Length is < 2 or > 3
            || !ulong.TryParse(arguments[1], CultureInfo.InvariantCulture, out var run)
            || !ulong.TryParse(arguments.ElementAtOrDefault(2) ?? "99999999", CultureInfo.InvariantCulture, out var records))
        {
            Console.Error.WriteLine("usage: Supervisor.Storm FOLDER RUN [RECORDS]");
            return 2;
        }

        var since = Stopwatch.StartNew();
        using var notes = new AcknowledgementFile(Path.Combine(arguments[0], "acknowledged"));
        using var store = HistoryStore.Open(new HistoryOptions
        {
            Path = Path.Combine(arguments[0], "history.db"),
            BootId = "storm",
            Clock = () => new ClockReading(since.Elapsed, DateTimeOffset.UtcNow, UtcQuality.Synchronised),
            Pause = Thread.Sleep,
            MaximumPerKind = 1_000_000,
            BytesPerDay = 100_000_000_000,
            BulkInterval = TimeSpan.FromMilliseconds(20),
            RetryInterval = TimeSpan.FromMilliseconds(20),
        });
        var producers = Enumerable.Range(0, Producers)
            .Select(number => new Producer(store, notes, run, number, records))
            .Select(producer => new Thread(producer.Run)).ToArray();
        Array.ForEach(producers, thread => thread.Start());
        Tell(store, producers);

        // The second comes after all that the first brings about.
        store.FlushAsync().Wait();
        store.FlushAsync().Wait();
        File.WriteAllText(Path.Combine(arguments[0], "written"), store.Health.BytesWritten.ToString(CultureInfo.InvariantCulture));
        return store.Stop(TimeSpan.FromSeconds(30)) ? 0 : 1;
    }

    /// <summary>Says how the history fares, whenever that changes, until the producers have ended.</summary>
    private static void Tell(HistoryStore store, Thread[] producers)
    {
        var told = "";
        while (producers.Any(thread => thread.IsAlive))
        {
            var now = store.Health is { Good: true } ? "good" : store.Health.Message;
            if (now != told)
            {
                Console.Out.WriteLine(told = now);
            }

            Thread.Sleep(2);
        }
    }
}

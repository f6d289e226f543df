using System.Globalization;
using System.Runtime.Versioning;
using Supervisor.Benchmarks.Results;
using Supervisor.Benchmarks.Rig;
using Supervisor.Bus;
using Supervisor.History;
using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Supervisor.Records.Faults;

namespace Supervisor.Benchmarks.Kept;

/// <summary>
/// The history's file: how long a page of a million records takes, how many faults a second are acknowledged, what is written for them, and what a storm
/// of them does to a port's thread.
/// </summary>
[SupportedOSPlatform("linux")]
internal static class HistorySuite
{
    public const string Name = "history";
    private const int Records = 1_000_000;
    private const int Pages = 300;
    private const int Singles = 300;
    private static readonly TimeSpan StormRound = TimeSpan.FromSeconds(2);

    public static IEnumerable<BenchmarkResult> Run(Arguments arguments)
    {
        using (var place = new HistoryPlace())
        {
            foreach (var result in Stored(place).Concat(Paged(place)))
            {
                yield return result;
            }
        }

        using (var place = new HistoryPlace())
        {
            foreach (var result in Hours(place))
            {
                yield return result;
            }
        }

        foreach (var result in Late(arguments.Long ? 5 : 1))
        {
            yield return result;
        }
    }

    private static IEnumerable<BenchmarkResult> Stored(HistoryPlace place)
    {
        using var store = place.Open();
        var before = (store.Health.BytesWritten, System: SystemBytes());
        var alone = place.Time(() =>
        {
            for (var i = 0; i < Singles; i++)
            {
                store.AppendAsync(Samples.Fault(i)).Wait();
            }
        });
        store.FlushAsync().Wait();
        var single = store.Health.BytesWritten - before.BytesWritten;
        yield return BenchmarkResult.Figure(Name, "faults acknowledged one after the other", Singles / alone.TotalSeconds, "1/s", Singles);
        yield return BenchmarkResult.Figure(Name, "bytes written per fault, one after the other", (double)single / Singles, "B", Singles);
        yield return BenchmarkResult.Figure(
            Name, "faults of this kind that the default of 20 MB a day holds", new HistoryOptions { Path = "-", BootId = "-", Clock = place.Read, Pause = _ => { } }.BytesPerDay / ((double)single / Singles), "count", 1);

        before = (store.Health.BytesWritten, SystemBytes());
        var filled = place.Time(() => Storm.Fill(store, Records - Singles));
        store.FlushAsync().Wait();
        store.FlushAsync().Wait();
        var told = store.Health.BytesWritten - before.BytesWritten;
        yield return BenchmarkResult.Figure(Name, "records stored, six of ten faults, group commits", (Records - Singles) / filled.TotalSeconds, "1/s", Records);
        yield return BenchmarkResult.Figure(Name, "bytes written per record, group commits", (double)told / (Records - Singles), "B", Records);
        yield return BenchmarkResult.Figure(Name, "bytes told, share of those that the system got", told / (SystemBytes() - before.System), "ratio", 1);

        var figures = Rounds.Interleaved(Rounds.Usual, () => Storm.Rate(store, place, StormRound), () => Storm.Rate(store, place, StormRound));
        yield return BenchmarkResult.Figure(Name, "faults acknowledged, group commits of four threads", Rounds.Median(figures[0]), "1/s", Rounds.Usual);
        yield return BenchmarkResult.Figure(
            Name, "faults acknowledged, A against A", Rounds.Median(figures[1]) / Rounds.Median(figures[0]), "ratio", Rounds.Usual);
    }

    private static IEnumerable<BenchmarkResult> Paged(HistoryPlace place)
    {
        (string What, HistoryFilter Filter)[] questions =
        [
            ("newest", new HistoryFilter()),
            ("faults of one axis in sixteen", new HistoryFilter { Kinds = [RecordKind.Fault], Axis = Samples.Axis(3) }),
            ("one code in four", new HistoryFilter { Code = FaultCode.LinkLost }),
            ("faults of an axis that has one in ten thousand", new HistoryFilter { Kinds = [RecordKind.Fault], Axis = Samples.RareAxis }),
            ("from the middle on", new HistoryFilter { Kinds = [RecordKind.Fault], BeforeSequence = Records / 2 }),
        ];
        foreach (var (what, filter) in questions)
        {
            var times = new Histogram();
            for (var i = 0; i < Pages; i++)
            {
                times.Add(place.Time(() => place.Reader.Query(filter)));
            }

            yield return BenchmarkResult.Figure(Name, $"page of 100 of 1,000,000, {what}, p50", times.Percentile(0.5), "us", Pages);
            yield return BenchmarkResult.Figure(Name, $"page of 100 of 1,000,000, {what}, p99", times.Percentile(0.99), "us", Pages);
        }

        yield return BenchmarkResult.Figure(Name, "size of the file, 1,000,000 records and more", new FileInfo(place.Path).Length / 1e6, "MB", 1);
    }

    /// <summary>Hours in simulated time: idle, and with little going on.</summary>
    private static IEnumerable<BenchmarkResult> Hours(HistoryPlace place)
    {
        var now = TimeSpan.FromHours(1);
        using var store = place.Open(options => options with
        {
            Clock = () => new(now, DateTimeOffset.UnixEpoch + now, Supervisor.History.Clocks.UtcQuality.Synchronised), BulkInterval = TimeSpan.Zero, BytesPerDay = 20_000_000,
        });
        store.AppendAsync(Samples.Fault(0)).Wait();
        foreach (var (what, records) in new[] { ("idle", 0), ("with a command and an interlock's change a minute", 1) })
        {
            var before = store.Health.BytesWritten;
            for (var minute = 0; minute < 60; minute++)
            {
                now += TimeSpan.FromMinutes(1);
                store.NoteClock();
                if (records > 0)
                {
                    store.Append(Samples.Command(minute));
                    store.Append(new InterlockRecord(now, "front guard", minute % 2 == 0 ? InterlockChange.Opened : InterlockChange.Closed, ["tray.input1"]));
                }

                store.FlushAsync().Wait();
            }

            var bytes = store.Health.BytesWritten - before;
            yield return BenchmarkResult.Figure(Name, $"bytes written an hour, {what}", bytes, "B", 60);
            yield return BenchmarkResult.Figure(Name, $"of the default's hour, {what}", bytes / (20_000_000 / 24.0), "ratio", 60);
        }
    }

    /// <summary>How late a port's thread runs after its waits, by turns without and with a storm of faults that are acknowledged.</summary>
    private static IEnumerable<BenchmarkResult> Late(int times)
    {
        using var rig = new LineRig(FastLine.Machine(4, 1_000_000, 10));
        using var place = new HistoryPlace();
        using var store = place.Open();
        var (quiet, quietAgain, stormy) = (new Histogram(), new Histogram(), new Histogram());
        for (var round = 0; round < Rounds.Usual * times; round++)
        {
            rig.PortClock.Phase = quiet;
            rig.Clock.WaitUntil(rig.Clock.Now + StormRound);
            rig.PortClock.Phase = stormy;
            Storm.Rate(store, place, StormRound);
            rig.PortClock.Phase = quietAgain;
            rig.Clock.WaitUntil(rig.Clock.Now + StormRound);
            rig.PortClock.Phase = null;
        }

        foreach (var result in quiet.Figures(Name, "port thread late, no storm").Concat(stormy.Figures(Name, "port thread late, storm of faults"))
            .Concat(Histogram.Noise(Name, "port thread late", quiet, quietAgain)))
        {
            yield return result;
        }

        yield return BenchmarkResult.Figure(Name, "port thread has real-time priority", rig.IsRaised ? 1 : 0, "yes=1", 1);
    }

    /// <summary>Bytes that this process has handed to write calls (<c>wchar</c>, proc_pid_io(5)).</summary>
    private static double SystemBytes() => double.Parse(
        File.ReadLines("/proc/self/io").First(line => line.StartsWith("wchar:", StringComparison.Ordinal))[6..], CultureInfo.InvariantCulture);
}

using System.Globalization;
using System.Runtime.Versioning;
using Supervisor.Benchmarks.Peers;
using Supervisor.Benchmarks.Results;
using Supervisor.Benchmarks.Served;

namespace Supervisor.Benchmarks.Scale;

/// <summary>
/// Whole daemons whose axes all move, their drives in other processes on lines of 1 Mbaud, 16 axes a port, cycle 20 ms: what one more axis takes of the
/// processor, and whether clients that read everything make the ports' threads late.
/// </summary>
[SupportedOSPlatform("linux")]
internal static class ScaleSuite
{
    public const string Name = "scale";
    private const double CyclesASecond = 50;
    private static readonly string[] Hot = ["port ", "coordinator"];
    private static readonly int[] Usual = [4, 16, 64];
    private static readonly int[] Tiny = [1, 2, 4];
    private static readonly string[] Percentiles = ["p50", "p99", "p99.9"];

    public static IEnumerable<BenchmarkResult> Run(Arguments arguments)
    {
        var round = TimeSpan.FromSeconds(arguments.Sized(0.2, 1.5, 6));
        var sizes = arguments.Sized(Tiny, Usual, Usual);
        foreach (var result in ProcessorAsync(sizes, round).GetAwaiter().GetResult())
        {
            yield return result;
        }

        var late = LatenessAsync(sizes[^1], arguments.Sized(2, 20, 20), round, arguments.Sized(1, Rounds.Usual, 2 * Rounds.Usual));
        foreach (var result in late.GetAwaiter().GetResult())
        {
            yield return result;
        }
    }

    /// <summary>All sizes run at once and are looked at over the same stretches of time, the middle one twice.</summary>
    private static async Task<List<BenchmarkResult>> ProcessorAsync(int[] sizes, TimeSpan round)
    {
        var machines = new List<ServedMachine>();
        try
        {
            foreach (var axes in sizes.Append(sizes[1]))
            {
                machines.Add(await ServedMachine.StartAsync(axes));
            }

            await Task.Delay(round);
            var rounds = new List<(double[] Hot, double[] Whole, double[] Exchange)>();
            for (var i = 0; i < Rounds.Usual; i++)
            {
                var exchangesBefore = await ExchangesAsync(machines);
                var before = machines.ConvertAll(Used);
                var begun = TimeProvider.System.GetTimestamp();
                await Task.Delay(round);
                var after = machines.ConvertAll(Used);
                var seconds = TimeProvider.System.GetElapsedTime(begun).TotalSeconds;
                var exchanges = await ExchangesAsync(machines);
                rounds.Add((
                    [.. after.Zip(before, (a, b) => (a.Hot - b.Hot).TotalMilliseconds / seconds)],
                    [.. after.Zip(before, (a, b) => (a.Whole - b.Whole).TotalMilliseconds / seconds)],
                    [.. after.Zip(before, (a, b) => (a.Hot - b.Hot).TotalMicroseconds).Zip(exchanges.Zip(exchangesBefore, (a, b) => a - b), (used, done) => used / done)]));
            }

            return
            [
                .. Figures("port threads and coordinator", sizes, rounds.ConvertAll(each => each.Hot)),
                .. sizes.Append(sizes[1]).Select((axes, machine) => BenchmarkResult.Figure(
                    Name, $"port threads and coordinator: processor time an exchange, {axes} axes{(machine == sizes.Length ? " again" : "")}",
                    Rounds.Median(rounds.Select(each => each.Exchange[machine])), "us", Rounds.Usual)),
                .. Figures("whole daemon", sizes, rounds.ConvertAll(each => each.Whole)),
            ];
        }
        finally
        {
            foreach (var machine in machines)
            {
                await machine.DisposeAsync();
            }
        }
    }

    private static async Task<long[]> ExchangesAsync(List<ServedMachine> machines) =>
        await Task.WhenAll(machines.ConvertAll(async machine => (await machine.StatusAsync()).Ports.Sum(port => port.Exchanges)));

    private static (TimeSpan Hot, TimeSpan Whole) Used(ServedMachine machine) => (machine.Processor(Hot), machine.Processor());

    /// <summary>Milliseconds of a processor a second, by round and machine.</summary>
    private static IEnumerable<BenchmarkResult> Figures(string of, int[] sizes, List<double[]> rounds)
    {
        var (few, some, many) = (sizes[0], sizes[1], sizes[2]);
        BenchmarkResult Figure(string what, Func<double[], double> figure, string unit, string goal = "") =>
            BenchmarkResult.Figure(Name, $"{of}: {what}", Rounds.Median(rounds.Select(figure)), unit, Rounds.Usual, goal);
        double First(double[] used) => 1000 * (used[1] - used[0]) / (some - few);
        double Further(double[] used) => 1000 * (used[2] - used[1]) / (many - some);
        double Again(double[] used) => 1000 * (used[3] - used[0]) / (some - few);
        return
        [
            Figure($"share of a processor, {few} axes", used => used[0] / 1000, "ratio"),
            Figure($"share of a processor, {some} axes", used => used[1] / 1000, "ratio"),
            Figure($"share of a processor, {many} axes", used => used[2] / 1000, "ratio"),
            Figure($"share of a processor, {some} axes, A against A", used => used[3] / used[1], "ratio"),
            Figure($"one more axis, from {few} to {some}", First, "us/s"),
            Figure($"one more axis, from {some} to {many}", Further, "us/s"),
            Figure($"one more axis, from {some} to {many} by from {few} to {some}", used => Further(used) / First(used), "ratio", "<= 1.0"),
            Figure($"one more axis, from {few} to {some}, A against A", used => Again(used) / First(used), "ratio"),
        ];
    }

    /// <summary>By turns without readers, with them, and without again.</summary>
    private static async Task<List<BenchmarkResult>> LatenessAsync(int axes, int readerCount, TimeSpan round, int count)
    {
        await using var machine = await ServedMachine.StartAsync(axes);
        using var readers = PeerProcess.Self(ServedReaders.Option, machine.Socket, $"{readerCount}");
        readers.Read();
        var (quiet, read, again) = (new List<double[]>(), new List<double[]>(), new List<double[]>());
        var (samples, overtaken, notExchanged) = (0.0, 0.0, 0.0);
        var skipped = new Dictionary<string, long> { ["quiet"] = 0, ["read"] = 0, ["again"] = 0 };
        async Task<long> SkippedAsync() => (await machine.StatusAsync()).Ports.Sum(port => port.Overruns.Skipped);
        async Task<double[]> LateAsync(string phase)
        {
            var before = await SkippedAsync();
            machine.Daemon.Ask("begin");
            await Task.Delay(round);
            var late = Numbers(machine.Daemon.Ask($"end {phase}"));
            skipped[phase] += await SkippedAsync() - before;
            return late;
        }

        for (var i = 0; i < count; i++)
        {
            quiet.Add(await LateAsync("quiet"));
            readers.Ask("start");
            read.Add(await LateAsync("read"));
            var told = Numbers(readers.Ask("stop"));
            samples += told[0];
            overtaken += told[1];
            notExchanged += told[2];
            again.Add(await LateAsync("again"));
        }

        var all = (Quiet: Numbers(machine.Daemon.Ask("all quiet")), Read: Numbers(machine.Daemon.Ask("all read")), Again: Numbers(machine.Daemon.Ask("all again")));
        var results = new List<BenchmarkResult>();
        for (var i = 0; i < Percentiles.Length; i++)
        {
            var (which, percentile) = (i, Percentiles[i]);
            void Add(string what, double value, string unit, double n, string goal = "") =>
                results.Add(BenchmarkResult.Figure(Name, $"port threads late, {axes} axes, {what}, {percentile}", value, unit, (long)n, goal));
            Add("no readers", all.Quiet[which], "us", all.Quiet[^1]);
            Add("no readers again", all.Again[which], "us", all.Again[^1]);
            Add($"{readerCount} readers", all.Read[which], "us", all.Read[^1]);
            var spread = quiet.Zip(again, (a, b) => Math.Abs(a[which] - b[which])).Max();
            Add("A against A, greatest difference of a round", spread, "us", count);
            Add("what readers add, median of rounds", Rounds.Median(read.Zip(quiet.Zip(again, (a, b) => (a[which] + b[which]) / 2), (with, without) => with[which] - without)), "us", count, $"<= {spread:0}");
        }

        var cycles = (long)(count * round.TotalSeconds * CyclesASecond) * ServedMachine.PortsFor(axes);
        foreach (var (phase, what) in new[] { ("quiet", "no readers"), ("again", "no readers again"), ("read", $"{readerCount} readers") })
        {
            results.Add(BenchmarkResult.Figure(Name, $"cycles skipped, {axes} axes, {what}", skipped[phase], "count", cycles));
        }

        results.Add(BenchmarkResult.Figure(Name, $"samples that {readerCount} readers got, of those taken", samples / (count * round.TotalSeconds * readerCount * axes * CyclesASecond), "ratio", count));
        results.Add(BenchmarkResult.Figure(Name, $"cycles of an axis that {readerCount} readers lost, overwritten before they were sent", overtaken, "count", count));
        results.Add(BenchmarkResult.Figure(Name, $"cycles of an axis told to {readerCount} readers as not exchanged", notExchanged, "count", count));
        return results;
    }

    private static double[] Numbers(string told) => [.. told.Split(' ').Select(text => double.Parse(text, CultureInfo.InvariantCulture))];
}

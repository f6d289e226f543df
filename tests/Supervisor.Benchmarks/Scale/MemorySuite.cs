using System.Globalization;
using System.Runtime.Versioning;
using Supervisor.Benchmarks.Results;
using Supervisor.Benchmarks.Served;

namespace Supervisor.Benchmarks.Scale;

/// <summary>
/// A whole daemon with 64 moving axes on four ports, left to itself: what its ports' threads and its coordinator allocate, and how many collections that
/// causes. A thread that allocates nothing causes none; those of the rest of the daemon stand beside.
/// </summary>
[SupportedOSPlatform("linux")]
internal static class MemorySuite
{
    public const string Name = "memory";
    private const double CyclesASecond = 50;

    public static IEnumerable<BenchmarkResult> Run(Arguments arguments) => RunAsync(arguments).GetAwaiter().GetResult();

    private static async Task<List<BenchmarkResult>> RunAsync(Arguments arguments)
    {
        var axes = arguments.Sized(4, 64, 64);
        var length = TimeSpan.FromSeconds(arguments.Sized(0.5, 10, 60));
        await using var machine = await ServedMachine.StartAsync(axes);

        // Whatever is made at its first use is made.
        await Task.Delay(TimeSpan.FromSeconds(arguments.Sized(1, 2, 5)));
        var exchangesBefore = await ExchangesAsync(machine);
        var before = Ask(machine);
        await Task.Delay(length);
        var after = Ask(machine);
        var exchanges = await ExchangesAsync(machine) - exchangesBefore;
        if (before[0] == 0 || before[1] == 0)
        {
            throw new InvalidOperationException("the threads were not watched: each has allocated something when it began");
        }

        var (ports, coordinator, all, collections) = (after[0] - before[0], after[1] - before[1], after[2] - before[2], after[3] - before[3]);
        var onPorts = ServedMachine.PortsFor(axes);
        var cycles = (long)(length.TotalSeconds * CyclesASecond) * onPorts;
        var of = string.Create(CultureInfo.InvariantCulture, $"{axes} axes on {onPorts} ports, {length.TotalSeconds:0.#} s");
        return
        [
            BenchmarkResult.Nought(Name, $"{of}: bytes the ports' threads allocated", ports, exchanges),
            BenchmarkResult.Figure(Name, $"{of}: bytes allocated per cycle", (double)ports / cycles, "B", cycles, "= 0"),
            BenchmarkResult.Nought(Name, $"{of}: bytes the coordinator's thread allocated", coordinator, exchanges),
            BenchmarkResult.Nought(Name, $"{of}: collections caused by the steppers", ports + coordinator == 0 ? 0 : collections, exchanges),
            BenchmarkResult.Figure(Name, $"{of}: collections of the whole daemon", collections, "count", exchanges),
            BenchmarkResult.Figure(Name, $"{of}: bytes the whole daemon allocated", all, "B", exchanges),
        ];
    }

    private static long[] Ask(ServedMachine machine) =>
        [.. machine.Daemon.Ask("allocated").Split(' ').Select(text => long.Parse(text, CultureInfo.InvariantCulture))];

    private static async Task<long> ExchangesAsync(ServedMachine machine) => (await machine.StatusAsync()).Ports.Sum(port => port.Exchanges);
}

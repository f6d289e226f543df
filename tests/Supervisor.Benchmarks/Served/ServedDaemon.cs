using System.Globalization;
using System.Runtime.Versioning;
using Serilog.Extensions.Logging;
using Supervisor.Benchmarks.Results;
using Supervisor.Bus;
using Supervisor.Daemon.Hosting;

namespace Supervisor.Benchmarks.Served;

/// <summary>
/// The whole daemon in a process of its own, API and history included, whose ports' threads are watched. It obeys lines, each answered by one:
/// <c>begin</c>; <c>end PHASE</c>: percentiles of how late the ports' threads woke since, kept for the phase besides; <c>all PHASE</c>: those of all rounds of a
/// phase; <c>allocated</c>: bytes of the ports' threads, of the coordinator's and of the process, and collections.
/// </summary>
[SupportedOSPlatform("linux")]
internal static class ServedDaemon
{
    public const string Option = "--serve";

    public static async Task<int> RunAsync(string machineFile, string socket, string stateFolder)
    {
        if (Daemon.Verbs.ServeVerb.Plan(machineFile, [], socket, stateFolder) is not { } plan)
        {
            return 2;
        }

        await using var logger = LogSetup.ToWriter(TextWriter.Null);
        using var loggers = new SerilogLoggerFactory(logger);
        var clock = new ServedClock(MonotonicClock.System);
        await using var supervision = await Supervision.StartAsync(plan, ServiceWatchdog.None, logger, loggers, clock);
        Tell("ready");
        var phases = new Dictionary<string, Histogram>(StringComparer.Ordinal);
        while (await Console.In.ReadLineAsync() is { } line)
        {
            Tell(Obey(line, clock, phases));
        }

        return 0;
    }

    private static string Obey(string line, ServedClock clock, Dictionary<string, Histogram> phases)
    {
        switch (line.Split(' ', 2))
        {
            case ["begin"]:
                clock.Begin();
                return "ok";
            case ["end", var phase]:
                var round = new Histogram();
                clock.End(round);
                phases.TryAdd(phase, new Histogram());
                phases[phase].Add(round);
                return Percentiles(round);
            case ["all", var phase]:
                return Percentiles(phases[phase]);
            case ["allocated"]:
                return string.Create(
                    CultureInfo.InvariantCulture,
                    $"{clock.Allocated("port ")} {clock.Allocated("coordinator")} {GC.GetTotalAllocatedBytes(precise: true)} {GC.CollectionCount(0)}");
            default:
                return $"unknown: {line}";
        }
    }

    private static string Percentiles(Histogram late) => string.Create(
        CultureInfo.InvariantCulture,
        $"{late.Percentile(0.5)} {late.Percentile(0.99)} {late.Percentile(0.999)} {late.Greatest.TotalMicroseconds} {late.Count}");

    private static void Tell(string line)
    {
        Console.Out.WriteLine(line);
        Console.Out.Flush();
    }
}

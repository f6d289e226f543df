using System.CommandLine;
using Supervisor.Daemon.Demo;
using Supervisor.Records;

namespace Supervisor.Daemon.Verbs;

/// <summary><c>demo [--cycles N] [--no-live] [--json] [--socket PATH]</c>.</summary>
internal static class DemoVerb
{
    private const int MostCycles = 10_000;

    public static Command Build()
    {
        var cycles = Numbers.Integer("--cycles", "N", $"Trays to sow, 1 to {MostCycles}.", 1, MostCycles, fallback: 3);
        var noLive = new Option<bool>("--no-live") { Description = "Print a plain log, also on a terminal." };
        var json = new Option<bool>("--json") { Description = "End with one line of JSON on standard output; the log then goes to standard error." };
        var socket = new Option<string?>("--socket") { Description = "Where to serve the API; otherwise the usual places.", HelpName = "PATH" };
        var verb = new Command("demo", "Show a simulated machine work, stop, fault and come back, all over real pseudo-terminals.") { cycles, noLive, json, socket };
        verb.SetAction((parsed, cancellation) => RunAsync(
            parsed.GetValue(cycles), parsed.GetValue(noLive), parsed.GetValue(json), parsed.GetValue(socket), cancellation));
        return verb;
    }

    private static async Task<int> RunAsync(int cycles, bool noLive, bool json, string? socket, CancellationToken cancellation)
    {
        if (!OperatingSystem.IsLinux())
        {
            Terminal.Error("the demo needs pseudo-terminals as Linux makes them; run it there");
            return ExitCode.Usage;
        }

        DemoVoice voice = json ? new PlainVoice(Console.Error) : noLive || !Terminal.IsWatched ? new PlainVoice(Console.Out) : new LiveVoice();
        var run = new DemoRun(cycles, socket, voice);
        var code = await voice.RunAsync(() => run.RunAsync(cancellation));
        if (run.Count is { } count)
        {
            Tell(count, json, code == ExitCode.Done);
        }

        return code;
    }

    private static void Tell(DemoJson count, bool json, bool isGood)
    {
        if (json)
        {
            JsonOut.Print(count, JsonShapes.Readable.DemoJson);
            return;
        }

        Console.Out.WriteLine();
        Console.Out.WriteLine($"{Counted.Of(count.Cycles, "tray")} sown in {count.DurationS:0.0} s{(isGood ? "; everything happened as it must" : "")}");
        Console.Out.WriteLine($"{Counted.Of(count.OrderedStops, "ordered stop")}, {Counted.Of(count.Faults, "fault")}, {Counted.Of(count.Recoveries, "recovery", "recoveries")}, {Counted.Of(count.Refusals, "refused command")} in the history");
        Console.Out.WriteLine(
            $"{Counted.Of(count.Exchanges, "exchange")}, {Counted.Of(count.ExchangeErrors, "error")}, {count.ExchangeMs.P50} ms median, {count.ExchangeMs.P99} ms at the 99th percentile");
    }
}

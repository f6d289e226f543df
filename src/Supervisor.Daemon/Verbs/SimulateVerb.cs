using System.CommandLine;
using System.ComponentModel;
using System.Runtime.Versioning;
using Supervisor.Bus;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Hosting;
using Supervisor.Simulation.Bench;

namespace Supervisor.Daemon.Verbs;

/// <summary><c>simulate FILE --link-dir DIR [--log FILE]</c>.</summary>
internal static class SimulateVerb
{
    public static Command Build()
    {
        var file = new Argument<string>("FILE") { Description = "The machine file." };
        var links = new Option<string>("--link-dir") { Description = "Folder for one link a port to its pseudo-terminal.", HelpName = "DIR", Required = true };
        var log = new Option<string?>("--log") { Description = "Write what the drives tell in each cycle as a table (CSV), to hold a recording against.", HelpName = "FILE" };
        var attached = new Option<bool>("--attached") { Description = "End with standard input only, not by a signal.", Hidden = true };
        var verb = new Command("simulate", $"Run simulated drives for a machine file on pseudo-terminals. Obeys lines on standard input: {BenchCommand.Usage}.") { file, links, log, attached };
        verb.SetAction((parsed, cancellation) => Task.FromResult(Run(
            parsed.GetRequiredValue(file), parsed.GetRequiredValue(links), parsed.GetValue(log), parsed.GetValue(attached) ? CancellationToken.None : cancellation)));
        return verb;
    }

    private static int Run(string file, string links, string? log, CancellationToken cancellation)
    {
        if (!OperatingSystem.IsLinux())
        {
            Terminal.Error("simulate needs pseudo-terminals as Linux makes them; run it there");
            return ExitCode.Usage;
        }

        return RunBench(file, links, log, cancellation);
    }

    [SupportedOSPlatform("linux")]
    private static int RunBench(string file, string links, string? log, CancellationToken cancellation)
    {
        var result = MachineFile.Read(file);
        if (result.Value is not { } machine)
        {
            Terminal.Errors(result.Errors);
            return ExitCode.Usage;
        }

        try
        {
            using var told = log is null ? null : new StreamWriter(log);
            using var bench = new MachineBench(machine, links, MonotonicClock.System, log: told is null ? null : new BenchLog(told));
            using var ending = cancellation.Register(() => End(bench));

            // The drives of a real machine keep their time whatever else the board does; the bench's threads inherit this.
            RealTimePriority.FavourProcess();
            RealTimePriority.TryRaiseThisThread();
            bench.Run(Console.In, Console.Out);
            return ExitCode.Done;
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException or Win32Exception or ArgumentException)
        {
            Terminal.Error(exception.Message);
            return ExitCode.Usage;
        }
    }

    /// <summary>Reading standard input can't be interrupted: the links are removed and the process ends from here.</summary>
    [SupportedOSPlatform("linux")]
    private static void End(MachineBench bench)
    {
        bench.Dispose();
        Environment.Exit(ExitCode.Interrupted);
    }
}

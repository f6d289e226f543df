using System.CommandLine;
using Microsoft.Extensions.Hosting.Systemd;
using Serilog.Extensions.Logging;
using Supervisor.Daemon.Hosting;
using Supervisor.History;

namespace Supervisor.Daemon.Verbs;

/// <summary><c>serve --config FILE [--device NAME=PATH]… [--socket PATH] [--state-dir DIR] [--log text|json]</c>.</summary>
internal static class ServeVerb
{
    public static Command Build()
    {
        var config = new Option<string>("--config") { Description = "The machine file.", HelpName = "FILE", Required = true };
        var devices = new Option<string[]>("--device")
        {
            Description = "Use another device for a port of the file; may be given several times.", HelpName = "NAME=PATH", DefaultValueFactory = _ => [],
        };
        var socket = new Option<string?>("--socket") { Description = "Where to serve the API; otherwise the usual places.", HelpName = "PATH" };
        var state = new Option<string?>("--state-dir") { Description = "Folder of the history; otherwise the usual places.", HelpName = "DIR" };
        var log = new Option<LogFormat>("--log") { Description = "Form of the log on standard error: text or json.", HelpName = "text|json" };
        var verb = new Command("serve", "Supervise a machine until told to end.") { config, devices, socket, state, log };
        verb.SetAction((parsed, cancellation) => RunAsync(
            parsed.GetRequiredValue(config), parsed.GetRequiredValue(devices), parsed.GetValue(socket), parsed.GetValue(state), parsed.GetValue(log), cancellation));
        return verb;
    }

    private static async Task<int> RunAsync(
        string config, IReadOnlyList<string> devices, string? socket, string? state, LogFormat format, CancellationToken cancellation)
    {
        if (Plan(config, devices, socket, state) is not { } plan)
        {
            return ExitCode.Usage;
        }

        await using var logger = LogSetup.ToConsole(format);
        using var loggers = new SerilogLoggerFactory(logger);
        var notifier = new SystemdNotifier();
        try
        {
            await using var supervision = await Supervision.StartAsync(
                plan, new ServiceWatchdog(notifier, ServiceWatchdog.PeriodFromEnvironment()), logger, loggers);
            notifier.Notify(ServiceState.Ready);
            var broken = await WaitAsync(supervision, cancellation);
            notifier.Notify(ServiceState.Stopping);
            await supervision.StopAsync(broken ?? "told to end");
            return broken is null ? ExitCode.Done : ExitCode.Failed;
        }
        catch (Exception exception) when (exception is HistoryException or IOException)
        {
            Terminal.Error(exception.Message);
            return ExitCode.Usage;
        }
    }

    /// <summary>Everything that can be wrong before anything is started; null when something is, and then it was told.</summary>
    internal static SupervisionPlan? Plan(string config, IReadOnlyList<string> devices, string? socket, string? state)
    {
        if (SupervisionPlan.Read(config, devices, out var problems) is not { } read)
        {
            Terminal.Errors(problems);
            return null;
        }

        try
        {
            var folder = StateFolder.Prepare(state);
            var claim = SocketClaim.TryTake(SocketPaths.ForDaemon(socket), out var problem);
            if (claim is null)
            {
                Terminal.Error(problem);
                return null;
            }

            return new SupervisionPlan(read.Machine, read.FileHash, folder, claim);
        }
        catch (IOException exception)
        {
            Terminal.Error(exception.Message);
            return null;
        }
    }

    /// <summary>Waits for the signal to end, or for what broke.</summary>
    internal static async Task<string?> WaitAsync(Supervision supervision, CancellationToken cancellation)
    {
        try
        {
            return await supervision.Broken.WaitAsync(cancellation);
        }
        catch (OperationCanceledException)
        {
            return null;
        }
    }
}

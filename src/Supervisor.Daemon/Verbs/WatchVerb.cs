using System.CommandLine;
using System.Globalization;
using Grpc.Core;
using Spectre.Console;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Verbs;

/// <summary><c>watch [--json]</c>: a table on a terminal, a line per change elsewhere.</summary>
internal static class WatchVerb
{
    public static Command Build()
    {
        var json = ClientOptions.Json();
        var server = ClientOptions.Server();
        var verb = new Command("watch", "Show the machine until Ctrl-C: a table on a terminal, a line per change elsewhere.") { json, server };
        verb.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            (daemon, ends) => parsed.GetValue(json) ? PrintAsync(daemon, Json, ends) : Terminal.IsWatched ? DrawAsync(daemon, ends) : PrintAsync(daemon, Changes(), ends),
            cancellation));
        return verb;
    }

    private static async Task<int> DrawAsync(DaemonConnection daemon, CancellationToken cancellation)
    {
        await AnsiConsole.Live(StatusView.Line("waiting for the machine")).StartAsync(context => FollowAsync(
            daemon,
            status =>
            {
                context.UpdateTarget(StatusView.Compose(status));
                context.Refresh();
            },
            cancellation));
        return Ended();
    }

    private static async Task<int> PrintAsync(DaemonConnection daemon, Action<MachineStatus> print, CancellationToken cancellation)
    {
        await FollowAsync(daemon, print, cancellation);
        return Ended();
    }

    private static void Json(MachineStatus status) => JsonOut.Print(StatusShapes.ToJson(status), JsonShapes.Readable.StatusJson);

    private static Action<MachineStatus> Changes()
    {
        MachineStatus? before = null;
        return status =>
        {
            foreach (var line in StatusChanges.Lines(before, status))
            {
                Console.Out.WriteLine($"{DateTime.Now.ToString("HH:mm:ss.fff", CultureInfo.InvariantCulture)} {line}");
            }

            before = status;
        };
    }

    private static async Task FollowAsync(DaemonConnection daemon, Action<MachineStatus> show, CancellationToken cancellation)
    {
        using var call = daemon.Status.WatchStatus(new WatchStatusRequest(), cancellationToken: cancellation);
        while (await call.ResponseStream.MoveNext(cancellation))
        {
            if (call.ResponseStream.Current.Status is { } status)
            {
                show(status);
            }
        }
    }

    /// <summary>Only the daemon's end gets here: Ctrl-C ends by an exception.</summary>
    private static int Ended()
    {
        Terminal.Error("the daemon ended the stream");
        return ExitCode.Failed;
    }
}

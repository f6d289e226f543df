using System.CommandLine;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Verbs;

/// <summary><c>mode [production|maintenance|manual]</c>: tells or chooses what the machine is used for.</summary>
internal static class ModeVerb
{
    private static readonly string[] Modes = ["production", "maintenance", "manual"];

    public static Command Build()
    {
        var mode = new Argument<string?>("MODE")
        {
            Description = "production: routines and full speed. maintenance: slow, drive parameters, jog without a reference. manual: slow, single commands. Left out: tells the mode.",
            Arity = ArgumentArity.ZeroOrOne,
        };
        mode.AcceptOnlyFromAmong(Modes);
        var server = ClientOptions.Server();
        var json = ClientOptions.Json();
        var verb = new Command("mode", "Tell or choose what the machine is used for. Starts nothing.") { mode, server, json };
        verb.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            parsed.GetValue(mode) is { } chosen ? Choosing(chosen, parsed.GetValue(json)).RunAsync : TellAsync,
            cancellation));
        return verb;
    }

    private static MotionRun Choosing(string mode, bool json) => new()
    {
        Verb = $"mode {mode}",
        Axes = [],
        Wait = true,
        Json = json,
        Give = (daemon, token, wait, cancellation) => CommandRun.FollowAsync(
            daemon.Motion.ChooseMode(
                new ChooseModeRequest { AuthorityToken = token, Mode = (Mode)(Array.IndexOf(Modes, mode) + 1) }, cancellationToken: cancellation),
            answer => answer.Event, wait, cancellation),
    };

    private static async Task<int> TellAsync(DaemonConnection daemon, CancellationToken cancellation)
    {
        var status = await daemon.Status.GetStatusAsync(new GetStatusRequest(), cancellationToken: cancellation);
        Console.Out.WriteLine(status.Status.Mode);
        return ExitCode.Done;
    }
}

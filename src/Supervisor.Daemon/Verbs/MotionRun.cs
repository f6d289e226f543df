using System.CommandLine;
using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Verbs;

/// <summary>Runs one motion command as a client: takes authority, follows the command, halts the axes on Ctrl-C.</summary>
internal sealed class MotionRun
{
    /// <summary>A stop that takes longer than this is told as such; it goes on in the daemon.</summary>
    private static readonly TimeSpan StopTimeout = TimeSpan.FromSeconds(30);

    private static readonly ApiRefusal NotHandedOn = new(
        "", "it was accepted, but authority could not be given back and is lost: what moves goes on or stops as the machine file says", "");

    /// <summary>Word for messages, such as "move".</summary>
    public required string Verb { get; init; }

    /// <summary>Axes that Ctrl-C halts; empty: all.</summary>
    public required IReadOnlyList<string> Axes { get; init; }

    public required bool Wait { get; init; }

    public required bool Json { get; init; }

    /// <summary>Gives the command with a token and follows it.</summary>
    public required Func<DaemonConnection, string, bool, CancellationToken, Task<CommandResult>> Give { get; init; }

    /// <summary>What a command that is done tells a person; null: that it is done.</summary>
    public Func<CommandEnded, string>? Describe { get; init; }

    /// <summary>Prints the result for programs; null: in the shape of every command.</summary>
    public Action<CommandResult>? Print { get; init; }

    /// <summary>True for what moves nothing: Ctrl-C then halts no axis.</summary>
    public bool MovesNothing { get; init; }

    /// <summary>False for a stop or halt, which needs no authority.</summary>
    public bool NeedsAuthority { get; init; } = true;

    public async Task<int> RunAsync(DaemonConnection daemon, CancellationToken cancellation)
    {
        if (!NeedsAuthority)
        {
            return Tell(await Give(daemon, "", Wait, cancellation));
        }

        await using var authority = await HeldAuthority.TakeAsync(daemon, $"{Environment.UserName} ({Verb}, process {Environment.ProcessId})", cancellation);
        try
        {
            var result = await Give(daemon, authority.Token, Wait, cancellation);
            var isHandedOn = await ReleaseAsync(authority, letCommandsFinish: result.IsGood);
            return Tell(isHandedOn || !result.IsGood || result.Ended is not null ? result : result with { Refusal = NotHandedOn });
        }
        catch (OperationCanceledException)
        {
            if (!MovesNothing)
            {
                await StopAsync(daemon);
            }

            return ExitCode.Interrupted;
        }
    }

    /// <summary>Every verb of this kind returns here once its command ended.</summary>
    public static void Add(Command verb, Func<ParseResult, MotionRun> read)
    {
        var server = ClientOptions.Server();
        verb.Add(server);
        verb.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(parsed.GetValue(server), read(parsed).RunAsync, cancellation));
    }

    /// <summary>The connection may be lost by now; what was to be told of the command is told all the same.</summary>
    private static async Task<bool> ReleaseAsync(HeldAuthority authority, bool letCommandsFinish)
    {
        try
        {
            await authority.ReleaseAsync(letCommandsFinish);
            return true;
        }
        catch (RpcException)
        {
            return false;
        }
    }

    private async Task StopAsync(DaemonConnection daemon)
    {
        var what = Axes.Count == 0 ? "all axes" : string.Join(", ", Axes);
        Console.Error.WriteLine($"stopping {what}");
        using var limit = new CancellationTokenSource(StopTimeout);
        try
        {
            var request = new HaltRequest { Axes = { Axes } };
            var result = await CommandRun.FollowAsync(daemon.Motion.Halt(request), answer => answer.Event, wait: true, limit.Token);
            Console.Error.WriteLine(result.IsGood ? $"stopped {what}" : $"stop {Words(result)}");
        }
        catch (OperationCanceledException)
        {
            Terminal.Error($"the stop was sent, but {what} did not come to rest within {StopTimeout.TotalSeconds:0} s; look at the machine");
        }
    }

    private int Tell(CommandResult result)
    {
        if (Json && Print is not null)
        {
            Print(result);
        }
        else if (Json)
        {
            JsonOut.Print(ToJson(result), JsonShapes.Readable.CommandJson);
        }
        else if (result.IsGood)
        {
            Console.Out.WriteLine(Sentence(result));
        }

        if (result.IsGood)
        {
            return ExitCode.Done;
        }

        Terminal.Error($"{Verb} {Words(result)}");
        return ExitCode.Failed;
    }

    private string Sentence(CommandResult result) => result.Ended switch
    {
        null => $"{Verb} accepted, command {result.CommandId}",
        { } ended when Describe is not null => $"{Verb} done: {Describe(ended)}",
        { HasContactPosition: true } ended => $"{Verb} done: met at {Text.Of(ended.ContactPosition)}",
        _ => $"{Verb} done",
    };

    private static string Words(CommandResult result) => result.Refusal is { } refusal
        ? refusal.Reason.Length > 0 ? $"refused: {Terminal.Sentence(refusal)}" : $"not followed to its end: {refusal.Message}"
        : result.Ended is { } ended ? $"{Text.Of(ended.Outcome)}: {ended.Message} ({ended.Reason})" : "accepted";

    private static CommandJson ToJson(CommandResult result)
    {
        if (result.Refusal is { } refusal)
        {
            return new CommandJson(result.CommandId, refusal.Reason.Length > 0 ? "refused" : "lost", NotEmpty(refusal.Reason), NotEmpty(refusal.Axis), refusal.Message, null);
        }

        return result.Ended is { } ended
            ? new CommandJson(
                result.CommandId, Text.Of(ended.Outcome), NotEmpty(ended.Reason), NotEmpty(ended.Axis), ended.Message,
                ended.HasContactPosition ? ended.ContactPosition : null)
            : new CommandJson(result.CommandId, "accepted", null, null, "", null);
    }

    private static string? NotEmpty(string text) => text.Length > 0 ? text : null;
}

using System.CommandLine;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Verbs;

/// <summary><c>jog AXIS +|- [--velocity V] [--for SECONDS]</c>: moves while it runs, by refreshing its press.</summary>
internal static class JogVerb
{
    /// <summary>Three refreshes may be lost before the press lapses.</summary>
    private static readonly TimeSpan RefreshEvery = TimeSpan.FromMilliseconds(80);

    private static readonly TimeSpan EndTimeout = TimeSpan.FromSeconds(2);

    public static Command Build()
    {
        var axis = new Argument<string>("AXIS") { Description = "Name of the axis." };
        var direction = new Argument<string>("+|-") { Description = "Direction." };
        direction.AcceptOnlyFromAmong("+", "-");
        var velocity = Numbers.Option("--velocity", "V", "Velocity in unit/s; otherwise the machine file's jog velocity.", required: false);
        var seconds = Numbers.Option("--for", "SECONDS", "How long; otherwise until a key is pressed.", required: false);
        var json = ClientOptions.Json();
        var verb = new Command("jog", "Move an axis while this runs; Ctrl-C, a key or the end of the time lets it halt.") { axis, direction, velocity, seconds, json };
        verb.Check(result =>
        {
            if (result.GetValue(seconds) is <= 0 or > 3600)
            {
                result.AddError("--for must be above 0 and at most 3600 s");
            }
        });
        MotionRun.Add(verb, parsed =>
        {
            var request = new JogRequest
            {
                Axis = parsed.GetRequiredValue(axis),
                PressId = 1,
                Direction = parsed.GetRequiredValue(direction) == "+" ? JogDirection.Positive : JogDirection.Negative,
            };
            if (parsed.GetValue(velocity) is { } value)
            {
                request.Velocity = value;
            }

            return new MotionRun
            {
                Verb = "jog",
                Axes = [request.Axis],
                Wait = true,
                Json = parsed.GetValue(json),
                Give = (daemon, token, _, cancellation) => HoldAsync(daemon, token, request, parsed.GetValue(seconds), cancellation),
            };
        });
        return verb;
    }

    private static async Task<CommandResult> HoldAsync(DaemonConnection daemon, string token, JogRequest request, double? seconds, CancellationToken cancellation)
    {
        if (seconds is null && Console.IsInputRedirected)
        {
            return new CommandResult(0, null, new ApiRefusal("INVALID_ARGUMENT", "without a terminal a jog needs --for SECONDS", request.Axis));
        }

        request.AuthorityToken = token;
        var begun = Environment.TickCount64;
        try
        {
            while (true)
            {
                var told = (await daemon.Motion.JogAsync(request, deadline: DateTime.UtcNow + EndTimeout, cancellationToken: cancellation)).Event;
                if (told.Ended is { } ended)
                {
                    return await RestAsync(daemon, request.Axis, new CommandResult(ended.CommandId, ended, null), cancellation);
                }

                if (seconds is { } limit ? Environment.TickCount64 - begun >= limit * 1000 : Console.KeyAvailable)
                {
                    return await RestAsync(daemon, request.Axis, await EndAsync(daemon, request, cancellation), cancellation);
                }

                await Task.Delay(RefreshEvery, cancellation);
            }
        }
        catch (Grpc.Core.RpcException exception) when (!cancellation.IsCancellationRequested)
        {
            return new CommandResult(0, null, ApiRefusal.From(exception));
        }
        catch (Grpc.Core.RpcException exception)
        {
            throw new OperationCanceledException("listening was ended", exception, cancellation);
        }
    }

    /// <summary>Lets go. A press that was ended moves nothing any more, however often it is asked after.</summary>
    private static async Task<CommandResult> EndAsync(DaemonConnection daemon, JogRequest request, CancellationToken cancellation)
    {
        await daemon.Motion.EndJogAsync(
            new EndJogRequest { AuthorityToken = request.AuthorityToken, PressId = request.PressId },
            deadline: DateTime.UtcNow + EndTimeout, cancellationToken: CancellationToken.None);
        while (true)
        {
            if ((await daemon.Motion.JogAsync(request, deadline: DateTime.UtcNow + EndTimeout, cancellationToken: cancellation)).Event.Ended is { } ended)
            {
                return new CommandResult(ended.CommandId, ended, null);
            }

            await Task.Delay(RefreshEvery, cancellation);
        }
    }

    /// <summary>A press has ended when its axis begins to halt; who reads that the jog is done may step up to the axis, so it is said once the axis rests.</summary>
    private static async Task<CommandResult> RestAsync(DaemonConnection daemon, string axis, CommandResult result, CancellationToken cancellation)
    {
        var rest = await CommandRun.FollowAsync(
            daemon.Motion.Halt(new HaltRequest { Axes = { axis } }, cancellationToken: cancellation), answer => answer.Event, wait: true, cancellation);
        return result.IsGood && !rest.IsGood ? rest : result;
    }
}

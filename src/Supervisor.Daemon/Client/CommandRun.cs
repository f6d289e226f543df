using Grpc.Core;
using Supervisor.Api.V1;

namespace Supervisor.Daemon.Client;

/// <summary>How a command went, as a client saw it.</summary>
/// <param name="CommandId">Its id; 0 when it was refused before it got one.</param>
/// <param name="Ended">How it ended; null when the client did not wait for that.</param>
/// <param name="Refusal">Why the daemon refused it; null when it was accepted.</param>
public sealed record CommandResult(ulong CommandId, CommandEnded? Ended, ApiRefusal? Refusal)
{
    /// <summary>True when it is done, or accepted where that was all that was asked.</summary>
    public bool IsGood => Refusal is null && Ended is null or { Outcome: Outcome.Done };
}

/// <summary>Follows the events of one command.</summary>
public static class CommandRun
{
    /// <summary>Longest silence of a stream: the daemon beats every two seconds.</summary>
    private static readonly TimeSpan LongestSilence = TimeSpan.FromSeconds(10);

    /// <summary>Follows a command to its end, or to its acceptance.</summary>
    /// <param name="call">The call; disposed here.</param>
    /// <param name="eventOf">The event in an answer.</param>
    /// <param name="wait">False: return once it is accepted.</param>
    /// <param name="cancellation">Stops listening; the command runs on.</param>
    public static async Task<CommandResult> FollowAsync<T>(
        AsyncServerStreamingCall<T> call, Func<T, CommandEvent> eventOf, bool wait, CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(call);
        ArgumentNullException.ThrowIfNull(eventOf);
        using var owned = call;
        ulong id = 0;
        try
        {
            while (await call.ResponseStream.MoveNext(cancellation).WaitAsync(LongestSilence, cancellation))
            {
                var told = eventOf(call.ResponseStream.Current);
                if (told.Accepted is { } accepted)
                {
                    id = accepted.CommandId;
                    if (!wait)
                    {
                        return new CommandResult(id, null, null);
                    }
                }

                if (told.Ended is { } ended)
                {
                    return new CommandResult(id, ended, null);
                }
            }

            return Lost(id, "the daemon ended the stream before the command's end");
        }
        catch (RpcException exception) when (!cancellation.IsCancellationRequested)
        {
            return new CommandResult(id, null, ApiRefusal.From(exception));
        }
        catch (TimeoutException)
        {
            return Lost(id, $"connection to the daemon lost (nothing heard for {LongestSilence.TotalSeconds:0} s)");
        }
        catch (RpcException exception)
        {
            throw new OperationCanceledException("listening was ended", exception, cancellation);
        }
    }

    private static CommandResult Lost(ulong id, string message) => new(id, null, new ApiRefusal("", message, ""));
}

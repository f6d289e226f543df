using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Machine.Api;

namespace Supervisor.Daemon.Services;

/// <summary>Tells a caller what becomes of a command. A call that is cancelled or out of time only stops listening.</summary>
internal static class CommandStream
{
    /// <summary>Waits for a command's acceptance, tells it, and gives its end.</summary>
    /// <param name="control">The machine.</param>
    /// <param name="ticket">The command.</param>
    /// <param name="tell">Tells an event.</param>
    /// <param name="cancellation">Ends the listening.</param>
    /// <exception cref="RpcException">It was refused.</exception>
    public static async Task<CommandAnswer> FollowAsync(MachineControl control, CommandTicket ticket, Func<CommandEvent, Task> tell, CancellationToken cancellation)
    {
        Task Beat() => tell(new CommandEvent { Heartbeat = new Heartbeat() });

        var early = await StreamPace.WaitAsync(ticket.Accepted, Beat, cancellation);
        if (early is not null && early.Outcome != Records.Commands.Outcome.Done)
        {
            throw ApiErrors.From(early, control.Machine);
        }

        await tell(new CommandEvent { Accepted = new CommandAccepted { CommandId = ticket.Id } });
        return await StreamPace.WaitAsync(ticket.Completion, Beat, cancellation);
    }

    /// <summary>The end of a command as a message.</summary>
    public static CommandEnded Ended(MachineControl control, CommandAnswer answer)
    {
        var ended = new CommandEnded
        {
            CommandId = answer.Id,
            Outcome = MotionServer.ToMessage(answer.Outcome),
            Reason = ApiErrors.ReasonOf(answer),
            Axis = answer.Axis >= 0 ? control.Machine.Axes[answer.Axis].Name : "",
            Message = answer.Message,
        };
        if (answer.Value is { } position)
        {
            ended.ContactPosition = position;
        }

        return ended;
    }
}

using Supervisor.Api.V1;
using Supervisor.Bus;
using Supervisor.Daemon.Memories;
using Supervisor.Daemon.Messages;
using Supervisor.History;
using Supervisor.Machine.Api;
using MachineStatus = Supervisor.Api.V1.MachineStatus;

namespace Supervisor.Daemon.Services;

/// <summary>Makes the machine's status as a message; for streams once for all that look at about the same time, and encoded once.</summary>
/// <remarks>
/// Each stream for itself would make, compare and encode some hundred kilobytes a look: twenty screens would keep a board busy with that, and with
/// collecting it, which holds up the ports' threads.
/// </remarks>
public sealed class StatusDesk(MachineControl control, HistoryStore history, TimeoutProofs proofs, Messenger messenger, IMonotonicClock clock)
{
    // Half of the shortest interval of a stream: one that looks twice sees two.
    private static readonly TimeSpan OldestShared = TimeSpan.FromMilliseconds(10);

    private readonly AlarmMapping _alarms = new(control.Machine);
    private readonly Lock _gate = new();
    private readonly Shared?[] _shared = new Shared?[control.Machine.Languages.Tags.Count];

    /// <summary>The status of this moment, the caller's own.</summary>
    /// <param name="language">In which of the machine file's languages its texts are told; empty: the first.</param>
    public MachineStatus Now(string language)
    {
        var status = StatusMapping.ToMessage(control.Status(), control.Machine, language);
        for (var axis = 0; axis < status.Axes.Count; axis++)
        {
            status.Axes[axis].TimeoutProof = TimeoutMapping.ToMessage(control.Machine.Axes[axis], proofs.Of(axis));
        }

        status.Alarms = _alarms.Summary(control.Alarms);
        status.History = StatusMapping.ToMessage(history.Health);
        status.MessageChannels.AddRange(messenger.Status.Select(StatusMapping.ToMessage));
        return status;
    }

    /// <summary>The status of this moment or of ten milliseconds ago, which others are told too: not to be changed. As long as it stays the same it is the same object.</summary>
    /// <param name="language">As for <see cref="Now"/>.</param>
    internal WatchStatusResponse Recent(string language)
    {
        var index = control.Machine.Languages.Find(language);
        lock (_gate)
        {
            var (last, now) = (_shared[index], clock.Now);
            if (last is not null && now - last.MadeAt < OldestShared)
            {
                return last.Response;
            }

            var status = Now(language);
            var response = last is not null && status.Equals(last.Response.Status) ? last.Response : Encoded(status);
            _shared[index] = new Shared(response, now);
            return response;
        }
    }

    private static WatchStatusResponse Encoded(MachineStatus status)
    {
        var response = new WatchStatusResponse { Status = status };
        response.Encode();
        return response;
    }

    /// <param name="Response">What streams are told.</param>
    /// <param name="MadeAt">When it was last found to be so.</param>
    private sealed record Shared(WatchStatusResponse Response, TimeSpan MadeAt);
}

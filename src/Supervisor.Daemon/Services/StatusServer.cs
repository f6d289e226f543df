using Google.Protobuf.WellKnownTypes;
using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Daemon.Hosting;
using Supervisor.Daemon.Memories;
using Supervisor.Daemon.Messages;
using Supervisor.History;
using Supervisor.Machine.Api;
using Supervisor.Records.Commands;

namespace Supervisor.Daemon.Services;

/// <summary>Serves the machine's status.</summary>
public sealed class StatusServer(MachineControl control, HistoryStore history, TimeoutProofs proofs, Messenger messenger, StreamPace pace) : StatusService.StatusServiceBase
{
    private static readonly TimeSpan DefaultInterval = TimeSpan.FromMilliseconds(200);
    private static readonly TimeSpan ShortestInterval = TimeSpan.FromMilliseconds(20);
    private static readonly TimeSpan LongestInterval = TimeSpan.FromMinutes(1);

    private readonly AlarmMapping _alarms = new(control.Machine);

    /// <inheritdoc/>
    public override Task<GetStatusResponse> GetStatus(GetStatusRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        return Task.FromResult(new GetStatusResponse { Status = Current(request.Language) });
    }

    /// <inheritdoc/>
    public override async Task WatchStatus(WatchStatusRequest request, IServerStreamWriter<WatchStatusResponse> responseStream, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        ArgumentNullException.ThrowIfNull(responseStream);
        ArgumentNullException.ThrowIfNull(context);
        var interval = Interval(request.Interval);
        using var ends = CancellationTokenSource.CreateLinkedTokenSource(context.CancellationToken, pace.Ending);
        using var timer = new PeriodicTimer(interval);
        Api.V1.MachineStatus? told = null;
        var silent = TimeSpan.Zero;
        do
        {
            var now = Current(request.Language);
            if (!now.Equals(told))
            {
                await responseStream.WriteAsync(new WatchStatusResponse { Status = now }, ends.Token);
                told = now;
                silent = TimeSpan.Zero;
            }
            else if ((silent += interval) >= StreamPace.Heartbeat)
            {
                await responseStream.WriteAsync(new WatchStatusResponse { Heartbeat = new Heartbeat() }, ends.Token);
                silent = TimeSpan.Zero;
            }
        }
        while (await timer.WaitForNextTickAsync(ends.Token));
    }

    private static TimeSpan Interval(Duration? asked)
    {
        var interval = asked is null ? DefaultInterval : ToTimeSpan(asked);
        return interval >= ShortestInterval && interval <= LongestInterval
            ? interval
            : throw ApiErrors.Refuse(
                Refusal.InvalidArgument, $"interval must be {ShortestInterval.TotalMilliseconds:0} ms to {LongestInterval.TotalSeconds:0} s", "interval");
    }

    private static TimeSpan ToTimeSpan(Duration duration)
    {
        try
        {
            return duration.ToTimeSpan();
        }
        catch (InvalidOperationException)
        {
            // Not a normalised duration.
            return TimeSpan.MinValue;
        }
    }

    private Api.V1.MachineStatus Current(string language)
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
}

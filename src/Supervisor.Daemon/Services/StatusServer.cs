using Google.Protobuf.WellKnownTypes;
using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Records.Commands;

namespace Supervisor.Daemon.Services;

/// <summary>Serves the machine's status.</summary>
public sealed class StatusServer(StatusDesk desk, StreamPace pace) : StatusServerBase
{
    private static readonly TimeSpan DefaultInterval = TimeSpan.FromMilliseconds(200);
    private static readonly TimeSpan ShortestInterval = TimeSpan.FromMilliseconds(20);
    private static readonly TimeSpan LongestInterval = TimeSpan.FromMinutes(1);

    /// <inheritdoc/>
    public override Task<GetStatusResponse> GetStatus(GetStatusRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        return Task.FromResult(new GetStatusResponse { Status = desk.Now(request.Language) });
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
        WatchStatusResponse? told = null;
        var silent = TimeSpan.Zero;
        do
        {
            var now = desk.Recent(request.Language);

            // Two objects may still be alike: this stream's last one, and one that came back to it meanwhile.
            if (!ReferenceEquals(now, told) && !now.Equals(told))
            {
                await responseStream.WriteAsync(now, ends.Token);
                silent = TimeSpan.Zero;
            }
            else if ((silent += interval) >= StreamPace.Heartbeat)
            {
                await responseStream.WriteAsync(new WatchStatusResponse { Heartbeat = new Heartbeat() }, ends.Token);
                silent = TimeSpan.Zero;
            }

            told = now;
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
}

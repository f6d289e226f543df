using Google.Protobuf.WellKnownTypes;
using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Bus;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Hosting;
using Supervisor.History.Recordings.Cutting;
using Supervisor.Records.Commands;

namespace Supervisor.Daemon.Services;

/// <summary>Serves samples as they come, and recordings.</summary>
public sealed class TraceServer(MachineDefinition machine, RecorderPlan plan, RecordingDesk recordings, IMonotonicClock clock, StreamPace pace) : TraceService.TraceServiceBase
{
    private static readonly TimeSpan Interval = TimeSpan.FromMilliseconds(100);

    // A batch of 64 axes at 10 ms, twice.
    private const int MostSamples = 1_500;

    /// <inheritdoc/>
    public override async Task WatchTrace(WatchTraceRequest request, IServerStreamWriter<WatchTraceResponse> responseStream, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        ArgumentNullException.ThrowIfNull(responseStream);
        ArgumentNullException.ThrowIfNull(context);
        var axes = Indices(request.Axes);
        var begun = WallClock.Read();
        var trace = new LiveTrace(plan, axes, request.Before is null ? null : begun.Monotonic - Before(request.Before));
        using var ends = CancellationTokenSource.CreateLinkedTokenSource(context.CancellationToken, pace.Ending);
        using var timer = new PeriodicTimer(Interval);
        await responseStream.WriteAsync(
            new WatchTraceResponse { Begin = TraceMapping.Begin(axes.Select(axis => plan.Axes[axis]), begun.Utc, begun.Monotonic) }, ends.Token);
        var told = clock.Now;
        var batch = new SampleBatch(MostSamples);
        do
        {
            while (batch.Take(trace) is { } samples)
            {
                await responseStream.WriteAsync(samples, ends.Token);
                told = clock.Now;
            }

            if (clock.Now - told >= StreamPace.Heartbeat)
            {
                await responseStream.WriteAsync(new WatchTraceResponse { Heartbeat = new Heartbeat() }, ends.Token);
                told = clock.Now;
            }
        }
        while (await timer.WaitForNextTickAsync(ends.Token));
    }

    /// <inheritdoc/>
    public override Task<ListRecordingsResponse> ListRecordings(ListRecordingsRequest request, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        return Task.FromResult(recordings.List(request));
    }

    /// <inheritdoc/>
    public override async Task ReadRecording(ReadRecordingRequest request, IServerStreamWriter<ReadRecordingResponse> responseStream, ServerCallContext context)
    {
        ArgumentNullException.ThrowIfNull(request);
        ArgumentNullException.ThrowIfNull(responseStream);
        ArgumentNullException.ThrowIfNull(context);
        using var ends = CancellationTokenSource.CreateLinkedTokenSource(context.CancellationToken, pace.Ending);
        foreach (var message in recordings.Read(request))
        {
            await responseStream.WriteAsync(message, ends.Token);
        }
    }

    private int[] Indices(Google.Protobuf.Collections.RepeatedField<string> names)
    {
        if (names.Count == 0)
        {
            return [.. Enumerable.Range(0, plan.Axes.Count)];
        }

        return [.. names.Distinct(StringComparer.Ordinal).Select(name => machine.AxisIndex(name) is >= 0 and var index
            ? index
            : throw ApiErrors.Refuse(Refusal.UnknownAxis, machine.DescribeUnknownAxis(name), "axes"))];
    }

    private static TimeSpan Before(Duration asked)
    {
        try
        {
            return asked.ToTimeSpan() is var before && before >= TimeSpan.Zero ? before : throw Refused();
        }
        catch (InvalidOperationException)
        {
            throw Refused();
        }

        static RpcException Refused() => ApiErrors.Refuse(Refusal.InvalidArgument, "before must be a time of 0 s or more", "before");
    }
}

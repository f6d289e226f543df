using Google.Protobuf.WellKnownTypes;
using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Benchmarks.Served;

/// <summary>
/// Clients in a process of their own that read all there is: each every sample of every axis, and the whole status as often as it is served. Lines:
/// <c>start</c>, answered once each has its first samples; <c>stop</c>, answered by samples read, cycles lost since they were overwritten before they
/// were sent, cycles told as not exchanged, and statuses read since.
/// </summary>
internal static class ServedReaders
{
    public const string Option = "--readers";
    private static readonly TimeSpan StatusInterval = TimeSpan.FromMilliseconds(20);
    private static long _samples;
    private static long _overtaken;
    private static long _notExchanged;
    private static long _statuses;

    public static async Task<int> RunAsync(string socket, int count)
    {
        var connections = new List<DaemonConnection>();
        for (var i = 0; i < count; i++)
        {
            connections.Add(await DaemonConnection.OpenAsync(socket, CancellationToken.None));
        }

        Console.Out.WriteLine("ready");
        CancellationTokenSource? running = null;
        Task[] streams = [];
        while (await Console.In.ReadLineAsync() is { } line)
        {
            if (line == "start")
            {
                (_samples, _overtaken, _notExchanged, _statuses) = (0, 0, 0, 0);
                running = new CancellationTokenSource();
                var begun = connections.Select(_ => new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously)).ToArray();
                streams = [.. connections.SelectMany((daemon, i) => new[] { TraceAsync(daemon, begun[i], running.Token), StatusAsync(daemon, running.Token) })];
                await Task.WhenAny(Task.WhenAll(begun.Select(first => first.Task)), Task.WhenAny(streams));
                Console.Out.WriteLine("ok");
            }
            else if (running is not null)
            {
                await running.CancelAsync();
                await Task.WhenAll(streams);
                running.Dispose();
                Console.Out.WriteLine($"{_samples} {_overtaken} {_notExchanged} {_statuses}");
            }
        }

        connections.ForEach(daemon => daemon.Dispose());
        return 0;
    }

    private static async Task TraceAsync(DaemonConnection daemon, TaskCompletionSource first, CancellationToken cancellation)
    {
        try
        {
            using var call = daemon.Trace.WatchTrace(new WatchTraceRequest(), cancellationToken: cancellation);
            while (await call.ResponseStream.MoveNext(cancellation))
            {
                if (call.ResponseStream.Current.Batch is { } batch)
                {
                    Interlocked.Add(ref _samples, batch.Samples.Count);
                    Interlocked.Add(ref _overtaken, Cycles(batch, GapCause.Overtaken));
                    Interlocked.Add(ref _notExchanged, Cycles(batch, GapCause.NotExchanged));
                    first.TrySetResult();
                }
            }
        }
        catch (RpcException) when (cancellation.IsCancellationRequested)
        {
        }
        catch (OperationCanceledException)
        {
        }
    }

    private static long Cycles(TraceBatch batch, GapCause cause) => batch.Gaps.Where(gap => gap.Cause == cause).Sum(gap => (long)gap.Cycles);

    private static async Task StatusAsync(DaemonConnection daemon, CancellationToken cancellation)
    {
        try
        {
            using var call = daemon.Status.WatchStatus(new WatchStatusRequest { Interval = Duration.FromTimeSpan(StatusInterval) }, cancellationToken: cancellation);
            while (await call.ResponseStream.MoveNext(cancellation))
            {
                Interlocked.Increment(ref _statuses);
            }
        }
        catch (RpcException) when (cancellation.IsCancellationRequested)
        {
        }
        catch (OperationCanceledException)
        {
        }
    }
}

using System.Collections.Concurrent;
using Google.Protobuf.WellKnownTypes;
using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>One axis as the feedback of its drive tells it, from the moment it is begun until it is disposed: one entry for each status that differs.</summary>
internal sealed class AxisTrace : IAsyncDisposable
{
    private static readonly TimeSpan Interval = TimeSpan.FromMilliseconds(40);

    private readonly ConcurrentQueue<AxisStatus> _seen = [];
    private readonly CancellationTokenSource _ending = new();
    private readonly AsyncServerStreamingCall<WatchStatusResponse> _call;
    private readonly Task _listening;

    private AxisTrace(AsyncServerStreamingCall<WatchStatusResponse> call, string axis)
    {
        _call = call;
        _listening = ListenAsync(axis);
    }

    /// <summary>What was seen so far, oldest first.</summary>
    public IReadOnlyList<AxisStatus> Seen => [.. _seen];

    /// <summary>The latest; null before the first.</summary>
    public AxisStatus? Last => _seen.LastOrDefault();

    /// <summary>Begins one and waits for its first entry, so that what follows is in it.</summary>
    public static async Task<AxisTrace> BeginAsync(TrialMachine trial, DaemonConnection daemon, string axis)
    {
        var trace = new AxisTrace(daemon.Status.WatchStatus(new WatchStatusRequest { Interval = Duration.FromTimeSpan(Interval) }), axis);
        await trial.UntilAsync($"a first look at {axis}", () => Task.FromResult(trace.Last is not null));
        return trace;
    }

    public async ValueTask DisposeAsync()
    {
        await _ending.CancelAsync();
        await _listening;
        _call.Dispose();
        _ending.Dispose();
    }

    private async Task ListenAsync(string name)
    {
        try
        {
            while (await _call.ResponseStream.MoveNext(_ending.Token))
            {
                if (_call.ResponseStream.Current.Status?.Axes.First(axis => axis.Name == name) is { } now && !now.Equals(_seen.LastOrDefault()))
                {
                    _seen.Enqueue(now);
                }
            }
        }
        catch (Exception exception) when (exception is RpcException or OperationCanceledException)
        {
        }
    }
}

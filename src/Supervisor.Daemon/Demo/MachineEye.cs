using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Demo;

/// <summary>Watches the machine through the API, as any client would, and lets the demo wait for what it must see.</summary>
internal sealed class MachineEye : IAsyncDisposable
{
    private static readonly TimeSpan Interval = TimeSpan.FromMilliseconds(50);

    private readonly CancellationTokenSource _ending = new();
    private readonly Lock _gate = new();
    private readonly List<Action<MachineStatus>> _watchers = [];
    private readonly Task _watching;
    private TaskCompletionSource<MachineStatus> _next = Fresh();
    private MachineStatus? _latest;

    public MachineEye(DaemonConnection daemon) => _watching = WatchAsync(daemon);

    /// <summary>Called with every status, on the watching task.</summary>
    public void Add(Action<MachineStatus> watcher)
    {
        lock (_gate)
        {
            _watchers.Add(watcher);
        }
    }

    /// <summary>Waits until the machine looks as it must.</summary>
    /// <param name="what">What is waited for, as the end of "did not see …".</param>
    /// <param name="condition">How it must look.</param>
    /// <param name="patience">How long that may take.</param>
    /// <param name="cancellation">Gives up.</param>
    /// <exception cref="DemoFailedException">It did not come to look like that in time.</exception>
    public async Task<MachineStatus> SeeAsync(string what, Func<MachineStatus, bool> condition, TimeSpan patience, CancellationToken cancellation)
    {
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(cancellation);
        limit.CancelAfter(patience);
        try
        {
            while (true)
            {
                Task<MachineStatus> next;
                MachineStatus? now;
                lock (_gate)
                {
                    (next, now) = (_next.Task, _latest);
                }

                if (now is not null && condition(now))
                {
                    return now;
                }

                await next.WaitAsync(limit.Token);
            }
        }
        catch (OperationCanceledException) when (!cancellation.IsCancellationRequested)
        {
            throw new DemoFailedException($"did not see {what} within {patience.TotalSeconds:0} s");
        }
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        await _ending.CancelAsync();
        await _watching;
        _ending.Dispose();
    }

    private static TaskCompletionSource<MachineStatus> Fresh() => new(TaskCreationOptions.RunContinuationsAsynchronously);

    private async Task WatchAsync(DaemonConnection daemon)
    {
        try
        {
            var request = new WatchStatusRequest { Interval = Google.Protobuf.WellKnownTypes.Duration.FromTimeSpan(Interval) };
            using var call = daemon.Status.WatchStatus(request, cancellationToken: _ending.Token);
            while (await call.ResponseStream.MoveNext(_ending.Token))
            {
                if (call.ResponseStream.Current.Status is { } status)
                {
                    Take(status);
                }
            }
        }
        catch (Exception exception) when (exception is RpcException or OperationCanceledException)
        {
            // The daemon ends, or the demo does; who still waits runs out of time and says for what.
        }
    }

    private void Take(MachineStatus status)
    {
        TaskCompletionSource<MachineStatus> next;
        Action<MachineStatus>[] watchers;
        lock (_gate)
        {
            _latest = status;
            (next, _next) = (_next, Fresh());
            watchers = [.. _watchers];
        }

        next.SetResult(status);
        foreach (var watcher in watchers)
        {
            watcher(status);
        }
    }
}

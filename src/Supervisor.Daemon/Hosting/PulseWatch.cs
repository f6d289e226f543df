using Supervisor.Bus;
using Supervisor.Machine;
using Supervisor.Runtime;

namespace Supervisor.Daemon.Hosting;

/// <summary>Looks whether coordinator and ports still step, and tells it to whoever serves health.</summary>
internal sealed class PulseWatch : IDisposable
{
    private static readonly TimeSpan Interval = TimeSpan.FromMilliseconds(250);
    private static readonly TimeSpan FirstBeatPatience = TimeSpan.FromSeconds(5);

    // A board that swaps or collects garbage is late now and then; a thread that hangs is so for good.
    private static readonly TimeSpan OldestBeat = TimeSpan.FromSeconds(2);
    private const int OldestCycles = 5;

    private readonly MachineBoard _board;
    private readonly CoordinatorThread _coordinator;
    private readonly IMonotonicClock _clock;
    private readonly Action<bool> _tell;
    private readonly CancellationTokenSource _ending = new();
    private readonly Task _watching;
    private readonly TaskCompletionSource _first = new(TaskCreationOptions.RunContinuationsAsynchronously);

    public PulseWatch(MachineBoard board, CoordinatorThread coordinator, IMonotonicClock clock, Action<bool> tell)
    {
        _board = board;
        _coordinator = coordinator;
        _clock = clock;
        _tell = tell;
        _watching = WatchAsync();
    }

    /// <summary>Ends once everything stepped, or after some seconds: what hangs then is told as such.</summary>
    public async Task FirstBeatAsync()
    {
        try
        {
            await _first.Task.WaitAsync(FirstBeatPatience);
        }
        catch (TimeoutException)
        {
        }
    }

    public void Dispose()
    {
        _ending.Cancel();
        _watching.Wait(Interval * 4);
        _ending.Dispose();
    }

    private async Task WatchAsync()
    {
        var told = false;
        while (!_ending.IsCancellationRequested)
        {
            var beats = IsBeating();
            if (beats != told)
            {
                told = beats;
                _tell(beats);
                _first.TrySetResult();
            }

            await Task.Delay(Interval, _ending.Token).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        }
    }

    private bool IsBeating()
    {
        var now = _clock.Now;
        if (now - _coordinator.Heartbeat > OldestBeat)
        {
            return false;
        }

        for (var port = 0; port < _board.Ports.Count; port++)
        {
            var oldest = _board.Machine.Ports[port].Cycle * OldestCycles;
            if (now - _board.Ports[port].Port.Read().At > (oldest > OldestBeat ? oldest : OldestBeat))
            {
                return false;
            }
        }

        return true;
    }
}

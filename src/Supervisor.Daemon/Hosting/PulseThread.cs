using Supervisor.Bus;

namespace Supervisor.Daemon.Hosting;

/// <summary>Steps a <see cref="Pulse"/> on a thread of its own, by the monotonic clock: timers of the runtime can freeze on some boards when the wall clock steps back.</summary>
internal sealed class PulseThread : IDisposable
{
    private static readonly TimeSpan Interval = TimeSpan.FromMilliseconds(250);
    private static readonly TimeSpan FirstBeatPatience = TimeSpan.FromSeconds(5);
    private static readonly TimeSpan EndPatience = TimeSpan.FromSeconds(2);

    private readonly Pulse _pulse;
    private readonly IMonotonicClock _clock;
    private readonly TaskCompletionSource _first = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private readonly Thread _thread;
    private volatile bool _isEnding;

    public PulseThread(Pulse pulse, IMonotonicClock clock)
    {
        _pulse = pulse;
        _clock = clock;
        _thread = new Thread(Run) { Name = "pulse", IsBackground = true };
        _thread.Start();
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
        _isEnding = true;
        _thread.Join(EndPatience);
    }

    private void Run()
    {
        while (!_isEnding)
        {
            var now = _clock.Now;
            if (_pulse.Step(now))
            {
                _first.TrySetResult();
            }

            _clock.WaitUntil(now + Interval);
        }
    }
}

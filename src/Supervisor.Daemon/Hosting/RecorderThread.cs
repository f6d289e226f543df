using Supervisor.Bus;
using Supervisor.History.Recordings.Cutting;

namespace Supervisor.Daemon.Hosting;

/// <summary>Steps a recorder on a thread of its own, behind everything else of the process: it only reads, and is told when it came too late.</summary>
internal sealed class RecorderThread
{
    private static readonly TimeSpan Interval = TimeSpan.FromMilliseconds(100);

    private readonly RecorderSteps _steps;
    private readonly IMonotonicClock _clock;
    private readonly Action<Exception> _broke;
    private readonly Thread _thread;
    private volatile bool _isEnding;

    public RecorderThread(RecorderSteps steps, IMonotonicClock clock, Action<Exception> broke)
    {
        (_steps, _clock, _broke) = (steps, clock, broke);
        _thread = new Thread(Run) { Name = "recorder", IsBackground = true };
    }

    public void Start() => _thread.Start();

    /// <summary>Hands over what is in hand, and ends.</summary>
    /// <returns>False when it did not end in time.</returns>
    public bool Stop(TimeSpan patience)
    {
        _isEnding = true;
        return _thread.Join(patience);
    }

    private void Run()
    {
        RealTimePriority.LowerThisThread();
        try
        {
            while (!_isEnding)
            {
                _steps.Step(_clock.Now);
                _clock.WaitUntil(_clock.Now + Interval);
            }

            _steps.End(_clock.Now);
        }
#pragma warning disable CA1031 // Recordings must never take the machine down with them.
        catch (Exception exception)
#pragma warning restore CA1031
        {
            _broke(exception);
        }
    }
}

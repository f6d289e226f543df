using Supervisor.Bus;
using Supervisor.Runtime.Stops;

namespace Supervisor.Machine;

/// <summary>Runs the coordinator's steps every 5 ms on a thread of its own.</summary>
public sealed class CoordinatorThread
{
    private static readonly TimeSpan Period = TimeSpan.FromMilliseconds(5);
    private readonly Coordinator _coordinator;
    private readonly IMonotonicClock _clock;
    private readonly Action<Exception> _died;
    private readonly Thread _thread;
    private volatile bool _isEnding;
    private long _heartbeatTicks;

    /// <param name="coordinator">Stepped by this thread only.</param>
    /// <param name="clock">Time and waiting.</param>
    /// <param name="died">Told on this thread when a step threw: all axes are then told to stop, and nobody coordinates any more.</param>
    public CoordinatorThread(Coordinator coordinator, IMonotonicClock clock, Action<Exception> died)
    {
        ArgumentNullException.ThrowIfNull(coordinator);
        ArgumentNullException.ThrowIfNull(clock);
        ArgumentNullException.ThrowIfNull(died);
        _coordinator = coordinator;
        _clock = clock;
        _died = died;
        _thread = new Thread(Run) { Name = "coordinator", IsBackground = true };
    }

    /// <summary>Monotonic time of the last step that ended; zero before the first. A watchdog asks that it be fresh.</summary>
    public TimeSpan Heartbeat => TimeSpan.FromTicks(Volatile.Read(ref _heartbeatTicks));

    /// <summary>Starts the thread. Once.</summary>
    public void Start() => _thread.Start();

    /// <summary>Ends the thread after its present step. Stop the axes first: see <see cref="Coordinator.BeginShutDown"/>.</summary>
    /// <returns>False when it had not ended within <paramref name="patience"/>.</returns>
    public bool Stop(TimeSpan patience)
    {
        _isEnding = true;
        return _thread.Join(patience);
    }

    private void Run()
    {
        try
        {
            var next = _clock.Now;
            while (!_isEnding)
            {
                var now = _clock.Now;
                _coordinator.Step(now);
                Volatile.Write(ref _heartbeatTicks, now.Ticks);

                // Late steps are left out, not made up for in a burst.
                next += Period;
                next = next > now ? next : now + Period;
                _clock.WaitUntil(next);
            }
        }
#pragma warning disable CA1031 // The one catch of this thread: whatever it was, the axes must stop.
        catch (Exception error)
#pragma warning restore CA1031
        {
            _coordinator.Board.Latch.Trip(StopCauses.ShutDown);
            _died(error);
        }
        finally
        {
            _coordinator.Close();
        }
    }
}

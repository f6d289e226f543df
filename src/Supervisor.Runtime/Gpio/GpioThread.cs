using Supervisor.Bus;
using Supervisor.Runtime.Stops;

namespace Supervisor.Runtime.Gpio;

/// <summary>Runs a chip's stepper: one named thread that wakes with an edge, and every 10 ms to read the levels.</summary>
public sealed class GpioThread
{
    private static readonly TimeSpan Period = TimeSpan.FromMilliseconds(10);
    private static readonly TimeSpan StopBound = TimeSpan.FromSeconds(2);
    private readonly MachineBoard _board;
    private readonly GpioStepper _stepper;
    private readonly IMonotonicClock _clock;
    private readonly Action _begins;
    private readonly Action<Exception> _ended;
    private readonly Thread _thread;
    private volatile bool _stopping;

    /// <param name="board">What all threads share.</param>
    /// <param name="stepper">The chip's logic.</param>
    /// <param name="clock">CLOCK_MONOTONIC, which stamps the edges too.</param>
    /// <param name="begins">Called first on the thread: raises its priority.</param>
    /// <param name="ended">Told when the thread ends by an exception, after every axis of the machine was told to stop.</param>
    public GpioThread(MachineBoard board, GpioStepper stepper, IMonotonicClock clock, Action begins, Action<Exception> ended)
    {
        ArgumentNullException.ThrowIfNull(stepper);
        (_board, _stepper, _clock, _begins, _ended) = (board, stepper, clock, begins, ended);
        _thread = new Thread(Run) { Name = ThreadName.Of("gpio", stepper.Chip), IsBackground = true };
    }

    /// <summary>Starts the thread.</summary>
    public void Start() => _thread.Start();

    /// <summary>Asks the thread to end and waits for it, two seconds at most.</summary>
    /// <returns>False when it did not end in time.</returns>
    public bool Stop()
    {
        _stopping = true;
        return _thread.Join(StopBound);
    }

    private void Run()
    {
        try
        {
            _begins();
            while (!_stopping)
            {
                _stepper.Step(_clock.Now);
                _stepper.Wait(Period);
            }
        }
#pragma warning disable CA1031 // The one catch of this thread: whatever it is, the ports must stop their axes.
        catch (Exception exception)
#pragma warning restore CA1031
        {
            _board.Latch.Trip(StopCauses.ShutDown);
            _ended(exception);
        }
        finally
        {
            _stepper.Close();
        }
    }
}

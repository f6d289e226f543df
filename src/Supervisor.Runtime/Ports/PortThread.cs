using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Runtime.Stops;

namespace Supervisor.Runtime.Ports;

/// <summary>
/// Runs a port's stepper on a real line: one named thread that writes, reads and waits, and is the only one to do so. Opening and closing, which may
/// hang, are left to <see cref="LinkKeeper"/>: meanwhile the stepper goes on, sees stops and shows that it lives.
/// </summary>
public sealed class PortThread
{
    private static readonly TimeSpan StopBound = TimeSpan.FromSeconds(2);
    private static readonly TimeSpan CloseBound = TimeSpan.FromMilliseconds(250);

    private readonly MachineBoard _board;
    private readonly PortStepper _stepper;
    private readonly Func<ILink?> _open;
    private readonly string _name;
    private readonly IMonotonicClock _clock;
    private readonly Action<Exception> _ended;
    private readonly Thread _thread;
    private LinkKeeper? _keeper;
    private ILink? _link;
    private RtuMasterDriver? _driver;
    private volatile bool _stopping;

    /// <param name="board">What all ports share.</param>
    /// <param name="stepper">The port's logic.</param>
    /// <param name="name">Name of the port; the thread carries it.</param>
    /// <param name="open">Opens the device; null when it can't be opened now. Called on a thread that may wait, never by two at once unless one of them hangs.</param>
    /// <param name="clock">Clock of the deadlines.</param>
    /// <param name="ended">Told when the thread ends by an exception, after every axis of the machine was told to stop.</param>
    public PortThread(MachineBoard board, PortStepper stepper, string name, Func<ILink?> open, IMonotonicClock clock, Action<Exception> ended)
    {
        _board = board;
        _stepper = stepper;
        _open = open;
        _name = name;
        _clock = clock;
        _ended = ended;
        _thread = new Thread(Run) { Name = ThreadName.Of("port", name), IsBackground = true };
    }

    /// <summary>Called first on the port's thread: raises its priority. Null: nothing is.</summary>
    public Action? Begins { get; init; }

    /// <summary>Told on the port's thread when an opening did not come back in time, with the number of threads that hang in one.</summary>
    public Action<int>? Hung { get; init; }

    /// <summary>Starts the thread.</summary>
    public void Start()
    {
        _keeper = new LinkKeeper(_name, _open, Hung);
        _keeper.Start();
        _thread.Start();
    }

    /// <summary>
    /// Asks the thread to end and waits for it, two seconds at most. Axes are stopped before this, not by it. The device is closed by then, unless
    /// its driver hangs: the end does not wait for that.
    /// </summary>
    /// <returns>False when it did not end in time.</returns>
    public bool Stop()
    {
        _stopping = true;
        var ended = _thread.Join(StopBound);
        if (ended)
        {
            _keeper!.Join(CloseBound);
        }

        return ended;
    }

    private void Run()
    {
        try
        {
            Begins?.Invoke();
            while (!_stopping)
            {
                TakeOpening(_clock.Now);
                Do(_stepper.Next(_clock.Now));
            }
        }
#pragma warning disable CA1031 // The one catch of this thread: whatever it is, the other ports must stop their axes.
        catch (Exception exception)
#pragma warning restore CA1031
        {
            _board.Latch.Trip(StopCauses.ShutDown);
            SendLastStops();
            _ended(exception);
        }
        finally
        {
            Close();
            _keeper!.End();
        }
    }

    private void Close()
    {
        if (_link is not null)
        {
            _keeper!.Close(_link);
            _link = null;
        }
    }

    private void TakeOpening(TimeSpan now)
    {
        if (_keeper!.TryTake(now, out var link))
        {
            _link = link;
            _driver = link is null ? null : new RtuMasterDriver(_stepper.Master, link, _clock, () => _stepper.IsStillWanted);
            _stepper.Opened(link is not null, now);
        }
    }

    /// <summary>The stepper can't be relied on any more: its axes get one stop frame each, by a master of their own, and nobody waits for long.</summary>
    private void SendLastStops()
    {
        if (_link is null)
        {
            return;
        }

#pragma warning disable CA1031 // A second exception must not keep the first one from being told, nor one axis's stop from the others.
        try
        {
            var driver = new RtuMasterDriver(new RtuMaster(_stepper.Line), _link, _clock);
            for (var axis = 0; axis < _stepper.Axes.Count; axis++)
            {
                driver.Run(_stepper.LastStop(axis, _clock.Now));
            }
        }
        catch (Exception)
        {
        }
#pragma warning restore CA1031
    }

    private void Do(in PortStep step)
    {
        switch (step.Kind)
        {
            case PortStepKind.Transact:
                if (_driver!.Run(step.Transaction!) == TransactionResult.LinkGone)
                {
                    Close();
                }

                _stepper.Completed(_clock.Now);
                break;
            case PortStepKind.Open:
                _keeper!.Ask(_clock.Now);
                break;
            default:
                _clock.WaitUntil(step.Until);
                break;
        }
    }
}

using Supervisor.Machine.Watching;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Outputs;

namespace Supervisor.Machine.Outputs;

/// <summary>
/// The alive output: its next edge comes only when its last one was confirmed, every port is open and has stepped since, and every chip's thread
/// has stepped since. Whatever hangs, it stays as it is, and the relay that watches it outside acts. An unplugged port stops it too, unlike the
/// service's watchdog: a restart would not help, but whoever relies on the relay must know.
/// </summary>
/// <remarks>Not a safety function.</remarks>
internal sealed class AliveOutput
{
    private readonly MachineView _view;
    private readonly IJournal _journal;
    private readonly OutputCell? _cell;
    private readonly TimeSpan _half;
    private bool _isBegun;
    private bool _on;
    private TimeSpan _edgeAt;
    private int _losses;
    private bool _isToldStopped;
    private volatile string _problem = "";

    public AliveOutput(MachineView view, IJournal journal)
    {
        (_view, _journal) = (view, journal);
        if (view.Board.Machine.Alive is { } alive)
        {
            _cell = view.Board.Outputs.Cells[view.Board.Outputs.Alive];
            _half = alive.Period / 2;
        }
    }

    /// <summary>What it waits for, while it is late; empty: it toggles. Any thread.</summary>
    public string Problem => _problem;

    public void Step()
    {
        if (_cell is null)
        {
            return;
        }

        if (!_isBegun)
        {
            _isBegun = true;
            Edge(on: false);
            return;
        }

        var reading = _cell.Read();
        if (reading.Known && reading.Losses != _losses)
        {
            // What was ordered before its place was lost is void: the same edge again.
            _losses = reading.Losses;
            _cell.Want(_on);
        }

        if (_view.Now - _edgeAt < _half)
        {
            return;
        }

        if (IsWell(reading))
        {
            Edge(!_on);
        }
        else if (_view.Now - _edgeAt >= 2 * _half)
        {
            TellStopped();
        }
    }

    private void Edge(bool on)
    {
        _on = on;
        _edgeAt = _view.Now;
        _isToldStopped = false;
        _problem = _problem.Length > 0 ? "" : _problem;
        _cell!.Want(on);
    }

    private bool IsWell(in OutputReading reading) => IsConfirmed(reading) && PortThatIsNot() < 0 && ChipThatIsNot() < 0;

    private bool IsConfirmed(in OutputReading reading) => reading.Known && reading.On == _on && reading.Acknowledged == _cell!.Order.Number;

    private int PortThatIsNot()
    {
        for (var port = 0; port < _view.PortCount; port++)
        {
            if (!_view.Port(port).Open || _view.Port(port).At <= _edgeAt)
            {
                return port;
            }
        }

        return -1;
    }

    private int ChipThatIsNot()
    {
        for (var chip = 0; chip < _view.Board.Chips.Count; chip++)
        {
            if (_view.Board.Chips[chip].At <= _edgeAt)
            {
                return chip;
            }
        }

        return -1;
    }

    private void TellStopped()
    {
        if (_isToldStopped)
        {
            return;
        }

        _isToldStopped = true;
        var machine = _view.Board.Machine;
        var port = PortThatIsNot();
        var chip = ChipThatIsNot();
        _problem = port >= 0 ? $"port {machine.Ports[port].Name} is {(_view.Port(port).Open ? "not stepping" : "not open")}"
            : chip >= 0 ? $"the thread of chip {_view.Board.Chips[chip].Name} does not step"
            : $"{machine.Alive!.Output.Text} is not confirmed";
        _journal.Fault(new FaultEvent(_view.Now, -1, (short)port, FaultCode.AliveStopped, 0, AxisState.Disabled, 0, 0) { Output = (short)_view.Board.Outputs.Alive });
    }
}

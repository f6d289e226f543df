using Supervisor.Machine.Interlocks;
using Supervisor.Machine.Stops;
using Supervisor.Machine.Watching;
using Supervisor.Records.Faults;
using Supervisor.Configuration.Machines;

namespace Supervisor.Machine.Outputs;

/// <summary>
/// The power-enable: off from the start, on only by a person's command and with the contactor proven open before; dropped when a stop fails; a
/// mirror contact that contradicts is a fault that latches. A second way to take the drives' power, not a safety function.
/// </summary>
internal sealed partial class PowerDesk
{
    // A daemon that was lost and is back at once finds its drives in the midst of their own stop: they keep the power for it.
    private static readonly TimeSpan StartPatience = TimeSpan.FromSeconds(3);
    private readonly MachineView _view;
    private readonly InterlockDesk _interlocks;
    private readonly StopNames _stoppedBy;
    private readonly IJournal _journal;
    private readonly Contactor? _contactor;
    private volatile PowerView _shown = new(PowerState.SwitchingOff, FaultCode.None, false);
    private TimeSpan _since;
    private int _drops;
    private TimeSpan? _steppedSince;
    private bool _isBegun;
    private bool _isOn;
    private bool _hasFallen;

    public PowerDesk(MachineView view, InterlockDesk interlocks, StopNames stoppedBy, IJournal journal)
    {
        (_view, _interlocks, _stoppedBy, _journal) = (view, interlocks, stoppedBy, journal);
        _contactor = view.Board.Machine.PowerEnable is { } power ? new Contactor(view.Board, power) : null;
    }

    /// <summary>True when the machine has one.</summary>
    public bool Exists => _contactor is not null;

    public PowerState State { get; private set; } = PowerState.SwitchingOff;

    /// <summary>The latched fault.</summary>
    public FaultCode Fault { get; private set; }

    /// <summary>As of the last step. Any thread.</summary>
    public PowerView Shown => _shown;

    private PowerEnableDefinition Definition => _contactor!.Definition;

    public void Step()
    {
        if (_contactor is null)
        {
            return;
        }

        _contactor.Look(_view.Now);
        if (!_isBegun)
        {
            if (!MayBegin())
            {
                return;
            }

            _isBegun = true;
            Put(on: false, PowerState.SwitchingOff);
        }

        if (_contactor.Drops != _drops)
        {
            _drops = _contactor.Drops;
            Latch(FaultCode.PowerDropped, isOn: false);
        }

        Judge();
        Show();
    }

    /// <summary>The first order is off, once no axis needs the power to come to rest, or all have had the time.</summary>
    private bool MayBegin()
    {
        _steppedSince ??= _view.Now;
        if (HeldLoad() >= 0 && _contactor!.Drops == 0)
        {
            return false;
        }

        var areMet = true;
        foreach (var axis in Definition.Axes)
        {
            areMet &= _view.IsOnline(axis) && _view.IsOff(axis);
        }

        return areMet || _contactor!.Drops > 0 || _view.Now - _steppedSince >= StartPatience;
    }

    private void Show()
    {
        var shown = _shown;
        if (shown.State != State || shown.Fault != Fault || shown.IsFeedbackSilent != _contactor!.IsSilent)
        {
            _shown = new PowerView(State, Fault, _contactor!.IsSilent);
        }
    }

    /// <summary>The process is about to end and its axes have stopped, or did not in time.</summary>
    public void End()
    {
        // A load that a motor holds alone is not dropped by the end of the process.
        if (_contactor is not null && _isOn && HeldLoad() < 0)
        {
            Put(on: false, State == PowerState.Faulted ? State : PowerState.SwitchingOff);
        }
    }

    /// <summary>True once the place of the output has confirmed what was ordered last.</summary>
    public bool IsConfirmed => _contactor?.IsConfirmed ?? true;

    private void Put(bool on, PowerState state)
    {
        (_isOn, State, _since) = (on, state, _view.Now);
        _contactor!.Put(on, _view.Now);
    }

    private bool IsOfPower(InterlockMonitor interlock)
    {
        foreach (var axis in interlock.Definition.Axes)
        {
            if (_view.Board.Outputs.IsBehindPower(axis))
            {
                return true;
            }
        }

        return false;
    }
}

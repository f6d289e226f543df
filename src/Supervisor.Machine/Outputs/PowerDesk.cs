using Supervisor.Machine.Interlocks;
using Supervisor.Machine.Planning;
using Supervisor.Machine.Stops;
using Supervisor.Machine.Watching;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Configuration.Machines;

namespace Supervisor.Machine.Outputs;

/// <summary>
/// The power-enable: off from the start, on only by a person's command and with the contactor proven open before; dropped when a stop fails; a
/// mirror contact that contradicts is a fault that latches. A second way to take the drives' power, not a safety function.
/// </summary>
internal sealed class PowerDesk
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

    /// <summary>Power must be on for torque on an axis behind the contactor.</summary>
    public Objection? Needed(int axis) => _contactor is null || !_view.Board.Outputs.IsBehindPower(axis) || State == PowerState.On ? null
        : State == PowerState.Faulted ? new Objection(Refusal.PowerFaulted, axis, $"{_view.NameOf(axis)}: {Faulted()}")
        : State == PowerState.SwitchingOn ? new Objection(Refusal.PowerOff, axis, $"{_view.NameOf(axis)}: the drives' power is just being switched on: wait until it is")
        : new Objection(Refusal.PowerOff, axis, $"{_view.NameOf(axis)}: the drives' power is off: switch it on first (power on)");

    /// <summary>Switches on, or says why not.</summary>
    public Objection? SwitchOn()
    {
        if ((NotThere() ?? NotSafe()) is { } objection)
        {
            return objection;
        }

        if (State is PowerState.On or PowerState.SwitchingOn)
        {
            return null;
        }

        if (_contactor!.IsSilent)
        {
            return new Objection(Refusal.PowerUnproven, -1, $"the mirror contact {Definition.Feedback.Text} does not answer, so the contactor is not proven open: see that it is read, then switch the power on again");
        }

        if (!_contactor.IsProvenOpen)
        {
            Latch(FaultCode.ContactorWelded, isOn: false);
            return new Objection(Refusal.PowerFaulted, -1, Faulted());
        }

        Put(on: true, PowerState.SwitchingOn);
        return null;
    }

    /// <summary>Switches off, or says why not: it takes torque away from what moves.</summary>
    public Objection? SwitchOff()
    {
        if (NotThere() is { } objection)
        {
            return objection;
        }

        foreach (var axis in Definition.Axes)
        {
            if (!_view.IsOff(axis) && _view.IsOnline(axis))
            {
                return new Objection(Refusal.AxisBusy, axis, $"{_view.NameOf(axis)} has torque, or is about to: disable it first, then switch the power off");
            }
        }

        if (State is PowerState.On or PowerState.SwitchingOn)
        {
            Put(on: false, PowerState.SwitchingOff);
        }

        return null;
    }

    /// <summary>The process is about to end and its axes have stopped, or did not in time.</summary>
    public void End()
    {
        if (_contactor is not null && _isOn)
        {
            Put(on: false, State == PowerState.Faulted ? State : PowerState.SwitchingOff);
        }
    }

    /// <summary>True once the place of the output has confirmed what was ordered last.</summary>
    public bool IsConfirmed => _contactor?.IsConfirmed ?? true;

    /// <summary>True when a reset by a person would end the latched fault.</summary>
    public bool IsResettable => State == PowerState.Faulted && !_isOn && _contactor!.IsProvenOpen;

    /// <summary>Why a reset would not end the latched fault; null when none is latched, or it would.</summary>
    public Objection? NotResettable() => State != PowerState.Faulted || IsResettable ? null
        : _isOn ? new Objection(Refusal.CauseStillPresent, -1, "the power is still on because axes behind it have torque: disable them, then reset again")
        : new Objection(Refusal.CauseStillPresent, -1,
            $"the mirror contact {Definition.Feedback.Text} {(_contactor!.IsSilent ? "does not answer" : "is open")}, so the contactor is not proven open: {LookUp(Fault)}");

    /// <summary>Ends the latched fault; it stays off.</summary>
    public void Reset()
    {
        if (IsResettable)
        {
            (State, Fault) = (PowerState.Off, FaultCode.None);
            Show();
        }
    }

    /// <summary>What is the matter and what to do, as a part of a sentence.</summary>
    public string Faulted() => TextOf(Fault);

    /// <summary>The same of any fault. Any thread.</summary>
    public static string TextOf(FaultCode fault) =>
        $"the power-enable is faulted and latched ({FaultCatalogue.Entry(fault).Name}): {LookUp(fault)}; then reset without naming an axis, and switch the power on";

    private void Judge()
    {
        switch (State)
        {
            case PowerState.Off when _contactor!.IsProvenClosed && _view.Now - _contactor.Since >= Definition.OffWithin && _contactor.IsOverdue(Definition.OffWithin, _view.Now):
            case PowerState.SwitchingOff when _contactor!.IsProvenClosed && _contactor.IsOverdue(Definition.OffWithin, _view.Now):
                Latch(FaultCode.ContactorWelded, isOn: false);
                break;
            case PowerState.SwitchingOff when _contactor!.IsProvenOpen:
                Opened();
                break;
            case PowerState.SwitchingOn when _contactor!.IsProvenClosed:
                State = PowerState.On;
                break;
            case PowerState.SwitchingOn when _contactor!.IsOverdue(Definition.OnWithin, _view.Now):
                NotClosed();
                break;
            case PowerState.On when _contactor!.IsProvenOpen:
                Fell();
                break;
            case PowerState.On when _contactor!.IsSilent:
                // Whether it is closed is not known, but what moves may still be stopped in order by its drive.
                HoldAxes();
                Latch(FaultCode.ContactorMissing, isOn: true);
                break;
            case PowerState.Faulted when _isOn && (_contactor!.IsProvenOpen || NoneHasTorque()):
                Put(on: false, PowerState.Faulted);
                break;
        }
    }

    /// <summary>It did not close: where a safety circuit keeps it open, that is no fault of it.</summary>
    private void NotClosed()
    {
        if (IsSafetyOpen())
        {
            Put(on: false, PowerState.SwitchingOff);
        }
        else
        {
            Latch(FaultCode.ContactorMissing, isOn: false);
        }
    }

    /// <summary>It opened by itself. The output follows at once; that a safety circuit did it may be seen a moment later, by another line.</summary>
    private void Fell()
    {
        HoldAxes();
        _hasFallen = true;
        Put(on: false, PowerState.SwitchingOff);
    }

    private void Opened()
    {
        if (!_hasFallen || IsSafetyOpen())
        {
            State = PowerState.Off;
            _hasFallen = false;
        }
        else if (_view.Now - _since >= Definition.OffWithin)
        {
            Latch(FaultCode.ContactorFell, isOn: false);
        }
    }

    private void HoldAxes()
    {
        foreach (var axis in Definition.Axes)
        {
            _stoppedBy[axis] = "the power-enable";
            _view.Board.Latch.RequestStop(axis);
        }
    }

    private void Latch(FaultCode fault, bool isOn)
    {
        if (State == PowerState.Faulted && fault != FaultCode.PowerDropped)
        {
            return;
        }

        Fault = fault;
        _hasFallen = false;
        if (isOn)
        {
            State = PowerState.Faulted;
        }
        else
        {
            Put(on: false, PowerState.Faulted);
        }

        _journal.Fault(new FaultEvent(_view.Now, -1, -1, fault, 0, AxisState.Disabled, 0, 0) { Output = (short)_view.Board.Outputs.Power });
    }

    private void Put(bool on, PowerState state)
    {
        (_isOn, State, _since) = (on, state, _view.Now);
        _contactor!.Put(on, _view.Now);
    }

    private Objection? NotThere() => !_isBegun && _contactor is not null
            ? new Objection(Refusal.PowerOff, -1, "the supervisor has just started and looks first that every axis is at rest: try again in a few seconds")
        : _contactor is null ? new Objection(Refusal.NoPowerEnable, -1, "the machine file has no powerEnable: the drives' power is not switched from here")
        : State == PowerState.Faulted ? new Objection(Refusal.PowerFaulted, -1, Faulted())
        : null;

    /// <summary>An open emergency stop holds the contactor open by its own circuit: switching on then would look like a fault.</summary>
    private Objection? NotSafe()
    {
        foreach (var interlock in _interlocks.All)
        {
            if (interlock.Definition.Kind == InterlockKind.EmergencyStop && interlock.Forbids && IsOfPower(interlock))
            {
                return new Objection(interlock.Open != 0 ? Refusal.InterlockOpen : Refusal.InterlockNeedsReset, -1,
                    $"the drives' power can't be switched on: {InterlockTexts.Condition(interlock)}: {InterlockTexts.Remedy(interlock)}");
            }
        }

        return null;
    }

    private bool IsSafetyOpen()
    {
        foreach (var interlock in _interlocks.All)
        {
            if (interlock.Definition.Kind != InterlockKind.Process && interlock.Forbids && IsOfPower(interlock))
            {
                return true;
            }
        }

        return false;
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

    private bool NoneHasTorque()
    {
        foreach (var axis in Definition.Axes)
        {
            if (_view.IsOnline(axis) && !_view.IsOff(axis))
            {
                return false;
            }
        }

        return true;
    }

    private static string LookUp(FaultCode fault) => FaultCatalogue.Entry(fault).Remedy.TrimEnd('.') is var remedy ? $"{char.ToLowerInvariant(remedy[0])}{remedy[1..]}" : "";
}

/// <summary>The power-enable as shown.</summary>
/// <param name="State">Where it stands.</param>
/// <param name="Fault">The latched fault.</param>
/// <param name="IsFeedbackSilent">The mirror contact does not answer.</param>
internal sealed record PowerView(PowerState State, FaultCode Fault, bool IsFeedbackSilent);

using Supervisor.Configuration.Machines;
using Supervisor.Machine.Brakes;
using Supervisor.Machine.Interlocks;
using Supervisor.Machine.Planning;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Outputs;

/// <content>What people ask of it: power on and off, a reset, and why not.</content>
internal sealed partial class PowerDesk
{
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

        if (HeldLoad() is var held and >= 0)
        {
            return new Objection(Refusal.AxisFaulted, held, HeldLoadTexts.Held(_view.NameOf(held)));
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

    private Objection? NotThere() => !_isBegun && _contactor is not null && HeldLoad() is var held and >= 0
            ? new Objection(Refusal.AxisFaulted, held, HeldLoadTexts.Held(_view.NameOf(held)))
        : !_isBegun && _contactor is not null
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

    private static string LookUp(FaultCode fault) => FaultCatalogue.Entry(fault).Remedy.TrimEnd('.') is var remedy ? $"{char.ToLowerInvariant(remedy[0])}{remedy[1..]}" : "";
}

using Supervisor.Configuration.Machines;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Outputs;

/// <content>What the mirror contact tells, and what follows from it.</content>
internal sealed partial class PowerDesk
{
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

    /// <summary>An axis behind the contactor whose motor holds its load alone, also one that an earlier run left so and that is not met yet; -1 when there is none.</summary>
    private int HeldLoad()
    {
        foreach (var axis in Definition.Axes)
        {
            if (_view.HoldsLoad(axis) || (_view.Board.HeldLoads[axis] && !_isBegun && !_view.IsOnline(axis) && _view.Now - _steppedSince < StartPatience))
            {
                return axis;
            }
        }

        return -1;
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
}

using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Simulation.Drives.Motion;

namespace Supervisor.Simulation.Drives.Bits;

/// <summary>
/// A drive commanded and told by single bits. Torque comes with a rising edge of "power", so that a bit left standing energises nothing after a fault;
/// without "power" torque goes at once in motion, and once the brake holds at rest.
/// </summary>
internal sealed class BitFront : IDriveFront
{
    private readonly ServoAxis _axis;
    private readonly CommandedMotion _commanded;
    private readonly double _positionWindow;
    private readonly StateBits? _states;
    private readonly AcknowledgeBits _acknowledges;
    private readonly Dictionary<string, RegisterValue> _stateFields = [];
    private readonly CommandBit _power;
    private readonly CommandBit _go;
    private readonly CommandBit _stop;
    private readonly CommandBit _findReference;
    private readonly CommandBit _clearFault;
    private readonly ClearCheck _clear;
    private readonly bool _clearsByBit;
    private bool _ramping;
    private double _rampSeconds;
    private long _lastTarget;

    public BitFront(AxisDefinition definition, RegisterBank bank, ServoAxis axis, CommandedMotion commanded)
    {
        _axis = axis;
        _commanded = commanded;
        _positionWindow = commanded.PositionWindow;
        _states = definition.Drive.States;
        _acknowledges = definition.Drive.Acknowledges;
        var commands = definition.Drive.Commands;
        _power = new CommandBit(bank, commands?.Power);
        _go = new CommandBit(bank, commands?.Go);
        _stop = new CommandBit(bank, commands?.Stop);
        _findReference = new CommandBit(bank, commands?.FindReference);
        _clearFault = new CommandBit(bank, commands?.ClearFault);
        _clear = new ClearCheck(definition.Drive, bank);
        _clearsByBit = commands?.ClearFault is not null;
        foreach (var bit in new[] { _states?.Powered, _states?.InPosition, _states?.Referenced, _states?.Fault, _states?.Moving, _acknowledges.Go, _acknowledges.FindReference, _acknowledges.ClearFault })
        {
            if (bit is { } known && bank.Told(known.Field) is { } field)
            {
                _stateFields[known.Field] = field;
            }
        }
    }

    /// <inheritdoc/>
    public ushort ErrorCode { get; private set; }

    /// <inheritdoc/>
    public bool IsFaulted { get; private set; }

    /// <inheritdoc/>
    public string StateName => IsFaulted ? "fault" : !_axis.Plant.Powered ? "off" : _axis.IsReleasing ? "releasing" : _axis.Homing.IsRunning ? "homing" : "on";

    /// <inheritdoc/>
    public Action<DriveAct>? Acted { get; set; }

    /// <inheritdoc/>
    public void Written()
    {
        _power.Look();
        _go.Look();
        _stop.Look();
        _findReference.Look();
        _clearFault.Look();
    }

    /// <inheritdoc/>
    public void Step()
    {
        if (IsFaulted)
        {
            StepFault();
        }
        else
        {
            StepPower();
        }

        if (_axis.IsEnergised && !_ramping)
        {
            StepMotion();
        }

        _lastTarget = _commanded.RawTarget;
        _power.Forget();
        _go.Forget();
        _stop.Forget();
        _findReference.Forget();
        _clearFault.Forget();
    }

    /// <inheritdoc/>
    public void Tell()
    {
        foreach (var field in _stateFields.Values)
        {
            field.SetWrapped(0);
        }

        bool arrived = _axis.Plant.Powered && _axis.Trajectory.IsDone && !_axis.Homing.IsRunning && Math.Abs(_axis.FollowingError) <= _positionWindow;
        Tell(_states?.Powered, _axis.Plant.Powered);
        Tell(_states?.InPosition, arrived);
        Tell(_states?.Referenced, _axis.IsHomed);
        Tell(_states?.Fault, IsFaulted);
        Tell(_states?.Moving, _axis.IsTurning || (_axis.Plant.Powered && !_axis.Trajectory.IsStanding));
        Tell(_acknowledges.Go, _go.IsAcknowledged);
        Tell(_acknowledges.FindReference, _findReference.IsAcknowledged);
        Tell(_acknowledges.ClearFault, _clearFault.IsAcknowledged);
    }

    /// <inheritdoc/>
    public void Raise(ushort code) => Raise(code, DriveErrors.CutsTorque(code));

    /// <inheritdoc/>
    public void CommunicationLost(TimeoutReaction reaction)
    {
        if (IsFaulted)
        {
            return;
        }

        if (reaction == TimeoutReaction.QuickStopThenHold)
        {
            IsFaulted = true;
            ErrorCode = DriveErrors.Communication;
            _axis.QuickStop();
        }
        else
        {
            Raise(DriveErrors.Communication, reaction == TimeoutReaction.TorqueOff);
        }
    }

    /// <inheritdoc/>
    public void Restart()
    {
        IsFaulted = false;
        ErrorCode = 0;
        _ramping = false;
        foreach (var bit in new[] { _power, _go, _stop, _findReference, _clearFault })
        {
            bit.Restart();
        }
    }

    private void Tell(BitReference? bit, bool set)
    {
        if (set && bit is { } known && _stateFields.TryGetValue(known.Field, out var field))
        {
            field.Or(1u << known.Bit);
        }
    }

    private void Raise(ushort code, bool cutTorque)
    {
        if (IsFaulted)
        {
            return;
        }

        IsFaulted = true;
        ErrorCode = code;
        if (cutTorque)
        {
            _axis.Cut();
        }
        else if (_axis.Plant.Powered)
        {
            _ramping = true;
            _rampSeconds = 0;
            _axis.BrakeFromActual();
        }
    }

    private void StepFault()
    {
        _rampSeconds += ServoAxis.StepSeconds;
        bool stopped = _axis.Trajectory.IsStanding && !_axis.IsTurning;
        if (_ramping && (stopped || _rampSeconds > 3))
        {
            _axis.Release();
        }

        if (!_axis.Plant.Powered)
        {
            _ramping = false;
        }
        else if (!_power.IsSet)
        {
            PowerDown();
        }

        if ((_clearsByBit ? _clearFault.Acts : _clear.Wants(ErrorCode)) && _clear.Permits(ErrorCode) && !_ramping)
        {
            IsFaulted = false;
            ErrorCode = 0;
            Acted?.Invoke(DriveAct.FaultClear);
        }
    }

    private void StepPower()
    {
        if (_power.Rose)
        {
            _axis.Energise();
        }
        else if (!_power.IsSet && _axis.IsEnergised)
        {
            PowerDown();
        }
    }

    private void PowerDown()
    {
        if (_axis.IsTurning)
        {
            _axis.Cut();
        }
        else
        {
            _axis.Release();
        }
    }

    private void StepMotion()
    {
        if (_stop.Acts)
        {
            _axis.Homing.Abandon();
            _axis.Stop(_commanded.Deceleration);
        }
        else if (IsFaulted)
        {
            return;
        }
        else if (_findReference.Rose)
        {
            if (_commanded.BeginHoming(_axis))
            {
                Acted?.Invoke(DriveAct.Homing);
            }
            else
            {
                Raise(DriveErrors.Parameter, false);
            }
        }
        else if (_go.Rose || (_go.IsLevel && _go.IsSet && _commanded.RawTarget != _lastTarget))
        {
            _axis.Homing.Abandon();
            _axis.MoveTo(_commanded.Target(_axis.Position), _commanded.Velocity, _commanded.Acceleration, _commanded.Deceleration);
            Acted?.Invoke(DriveAct.SetPoint);
        }
    }
}

using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Simulation.Drives.Motion;

namespace Supervisor.Simulation.Drives.Cia402;

/// <summary>A drive commanded by controlword and mode, telling statusword and mode display.</summary>
internal sealed class Cia402Front : IDriveFront
{
    private const int ProfilePositionMode = 1;
    private const int ProfileVelocityMode = 3;
    private const int HomingModeNumber = 6;

    // Object 605Ah: ramp down on the quick-stop ramp, then switch on disabled.
    private const int DefaultQuickStopOption = 2;

    private readonly ServoAxis _axis;
    private readonly CommandedMotion _commanded;
    private readonly Cia402Machine _machine;
    private readonly ProfilePosition _position;
    private readonly HomingMode _homing;
    private readonly ClearCheck _clear;
    private readonly RegisterValue? _controlword;
    private readonly RegisterValue? _mode;
    private readonly RegisterValue? _statusword;
    private readonly RegisterValue? _modeDisplay;
    private readonly RegisterValue? _quickStopOption;
    private ushort _seen;
    private bool _fresh;
    private bool _resetEdge;
    private bool _startEdge;
    private ushort _startWord;
    private int _activeMode;
    private bool _wasOperating;

    public Cia402Front(AxisDefinition definition, RegisterBank bank, ServoAxis axis, CommandedMotion commanded)
    {
        _axis = axis;
        _commanded = commanded;
        _machine = new Cia402Machine(axis);
        _position = new ProfilePosition(axis, commanded, commanded.PositionWindow);
        _homing = new HomingMode(axis, commanded);
        _clear = new ClearCheck(definition.Drive, bank);
        _controlword = bank.Commanded("controlword");
        _mode = bank.Commanded("mode");
        _statusword = bank.Told("statusword");
        _modeDisplay = bank.Told("modeDisplay");
        _quickStopOption = bank.Commanded("quickStopOption");
        Commission();
    }

    /// <summary>Number of the last transition.</summary>
    public int LastTransition => _machine.LastTransition;

    /// <inheritdoc/>
    public ushort ErrorCode => _machine.ErrorCode;

    /// <inheritdoc/>
    public bool IsFaulted => _machine.State is Cia402State.Fault or Cia402State.FaultReactionActive;

    /// <inheritdoc/>
    public string StateName => _machine.State.ToString();

    /// <inheritdoc/>
    public Action<DriveAct>? Acted { get; set; }

    /// <inheritdoc/>
    public void Written()
    {
        ushort word = Controlword;
        int risen = word & ~_seen;
        _resetEdge |= (risen & 0x80) != 0;
        if ((risen & 0x10) != 0)
        {
            // A set-point is taken as its own word says, also when the next word comes before the drive's next step.
            (_startEdge, _startWord) = (true, word);
        }

        _seen = word;
        _fresh = true;
    }

    /// <inheritdoc/>
    public void Step()
    {
        if (_quickStopOption is not null)
        {
            _machine.QuickStopOption = (int)_quickStopOption.Value;
        }

        if (_resetEdge && _clear.Permits(ErrorCode) && _machine.ResetFault())
        {
            Acted?.Invoke(DriveAct.FaultClear);
        }

        _machine.Obey(Controlword, _fresh, _commanded.Deceleration);
        _machine.Step();
        SelectMode();
        Operate();
        (_resetEdge, _startEdge, _fresh) = (false, false, false);
    }

    /// <inheritdoc/>
    public void Tell()
    {
        _statusword?.SetWrapped(Statusword());
        _modeDisplay?.SetClamped(_activeMode);
    }

    /// <inheritdoc/>
    public void Raise(ushort code) => _machine.Raise(code, DriveErrors.CutsTorque(code));

    /// <inheritdoc/>
    public void CommunicationLost(TimeoutReaction reaction)
    {
        if (reaction == TimeoutReaction.QuickStopThenHold)
        {
            _machine.StopAndHold(DriveErrors.Communication);
        }
        else
        {
            _machine.Raise(DriveErrors.Communication, reaction == TimeoutReaction.TorqueOff);
        }
    }

    /// <inheritdoc/>
    public void Restart()
    {
        _machine.Restart();
        _position.Clear();
        _homing.Clear();
        (_seen, _fresh, _resetEdge, _startEdge, _wasOperating) = (0, false, false, false, false);
        Commission();
    }

    private ushort Controlword => (ushort)(_controlword?.Raw ?? 0);

    private void Commission()
    {
        _activeMode = _mode is null ? ProfilePositionMode : 0;
        _machine.QuickStopOption = DefaultQuickStopOption;
        _quickStopOption?.SetClamped(DefaultQuickStopOption);
    }

    private void SelectMode()
    {
        int asked = _mode is null ? ProfilePositionMode : (int)_mode.Value;
        bool known = asked is 0 or ProfilePositionMode or HomingModeNumber || (asked == ProfileVelocityMode && _commanded.HasTargetVelocity);
        if (asked == _activeMode || !known)
        {
            return;
        }

        _activeMode = asked;
        _position.Clear();
        _homing.Clear();
        if (_machine.IsOperating)
        {
            _axis.Stop(_commanded.Deceleration);
        }
    }

    private void Operate()
    {
        bool operating = _machine.IsOperating;
        if (operating != _wasOperating)
        {
            // A set-point, or a start of homing, belongs to one stay in operation enabled.
            _wasOperating = operating;
            _position.Clear();
            if (operating)
            {
                _homing.Clear();
                _startEdge = false;
            }
        }

        if (!operating)
        {
            return;
        }

        switch (_activeMode)
        {
            case ProfilePositionMode:
                if (_position.Step(Controlword, _startEdge ? _startWord : null))
                {
                    Acted?.Invoke(DriveAct.SetPoint);
                }

                break;
            case ProfileVelocityMode:
                _axis.Run((Controlword & 0x100) != 0 ? 0 : _commanded.TargetVelocity, _commanded.Acceleration, _commanded.Deceleration);
                break;
            case HomingModeNumber:
                if (_homing.Step(Controlword, _startEdge))
                {
                    Acted?.Invoke(DriveAct.Homing);
                }

                break;
        }
    }

    private ushort Statusword()
    {
        int word = Cia402Table.Bits(_machine.State);
        if (_machine.State == Cia402State.NotReadyToSwitchOn)
        {
            return (ushort)word;
        }

        word |= 0x0210; // bit 4: voltage is there; bit 9: remote
        word |= _machine.Warning ? 0x80 : 0;
        word |= _axis.IsTorqueLimited ? 0x0800 : 0;
        return (ushort)(word | ModeBits());
    }

    private int ModeBits()
    {
        switch (_activeMode)
        {
            case HomingModeNumber:
                return _homing.StatusBits;
            case ProfileVelocityMode:
                bool reached = Math.Abs(_axis.Trajectory.Velocity - _commanded.TargetVelocity) < 1;
                return (reached ? 0x0400 : 0) | (_axis.IsTurning ? 0 : 0x1000);
            case ProfilePositionMode when _machine.State == Cia402State.OperationEnabled:
                bool lags = Math.Abs(_axis.FollowingError) > _axis.Plant.Settings.FollowingErrorWindow;
                return (_position.TargetReached ? 0x0400 : 0) | (_position.Acknowledged ? 0x1000 : 0) | (lags ? 0x2000 : 0);
            default:
                return _axis.Trajectory.IsStanding ? 0x0400 : 0;
        }
    }
}

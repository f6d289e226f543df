using Supervisor.Simulation.Drives.Motion;

namespace Supervisor.Simulation.Drives.Cia402;

/// <summary>
/// The state machine of a CiA 402 drive, from the standard's table, with what each transition does to the axis.
/// Leaving a state under torque takes as long as ramp and brake need; the old state is told until then.
/// </summary>
internal sealed class Cia402Machine(ServoAxis axis)
{
    /// <summary>A ramp that does not end (the motor can't brake its load) is given up after this.</summary>
    private const double LongestRampSeconds = 3;

    private Cia402State? _leavingTo;
    private bool _holdAfterStop;
    private double _rampSeconds;
    private double _deceleration;

    /// <summary>Where it is.</summary>
    public Cia402State State { get; private set; }

    /// <summary>Number of the last transition.</summary>
    public int LastTransition { get; private set; }

    /// <summary>Fault or warning code; 0 for none.</summary>
    public ushort ErrorCode { get; private set; }

    /// <summary>True when something is wrong that is no fault.</summary>
    public bool Warning { get; private set; }

    /// <summary>True while it may follow commands of its mode.</summary>
    public bool IsOperating => State == Cia402State.OperationEnabled && _leavingTo is null;

    /// <summary>Quick-stop option code, object 605Ah: 0 torque off; 1–4 ramp, then switch on disabled; 5–8 ramp, then stay.</summary>
    public int QuickStopOption { get; set; } = 2;

    /// <summary>Starts again: transitions 0 and 1 follow by themselves.</summary>
    public void Restart()
    {
        State = Cia402State.NotReadyToSwitchOn;
        LastTransition = 0;
        ErrorCode = 0;
        Warning = false;
        _leavingTo = null;
    }

    /// <summary>Follows the controlword's level.</summary>
    /// <param name="controlword">The word as it stands.</param>
    /// <param name="fresh">True when it was written since the last step: leaving a quick stop needs that, a word left behind is not enough.</param>
    /// <param name="deceleration">Commanded ramp, counts/s².</param>
    public void Obey(ushort controlword, bool fresh, double deceleration)
    {
        _deceleration = deceleration;
        var (number, to) = Cia402Table.Find(State, Cia402Table.Read(controlword));
        if (number == 0 || (number == 16 && (!fresh || !StaysInQuickStop)))
        {
            return;
        }

        if (_leavingTo is not null && (number is 5 or 8 or 11))
        {
            // Already on the way down: only the end may change.
            _leavingTo = number == 11 ? Cia402State.SwitchOnDisabled : to;
            return;
        }

        Take(number, to);
    }

    /// <summary>Rising edge of bit 7: transition 15. True when it took one.</summary>
    public bool ResetFault()
    {
        Warning = false;
        if (State != Cia402State.Fault)
        {
            return false;
        }

        ErrorCode = 0;
        Move(15, Cia402State.SwitchOnDisabled);
        return true;
    }

    /// <summary>Transition 13: any state to fault reaction.</summary>
    /// <param name="code">Error code.</param>
    /// <param name="cutTorque">True when torque goes at once.</param>
    public void Raise(ushort code, bool cutTorque)
    {
        if (State is Cia402State.Fault or Cia402State.FaultReactionActive)
        {
            return;
        }

        ErrorCode = code;
        Warning = false;
        _leavingTo = null;
        Move(13, Cia402State.FaultReactionActive);
        if (cutTorque)
        {
            axis.Cut();
        }
        else if (axis.Plant.Powered)
        {
            axis.BrakeFromActual();
        }
    }

    /// <summary>A quick stop by the drive's own decision that ends in holding, told as a warning with a code.</summary>
    public void StopAndHold(ushort code)
    {
        ErrorCode = code;
        Warning = true;
        if (IsOperating)
        {
            BeginQuickStop(true);
        }
    }

    /// <summary>What happens without a command.</summary>
    public void Step()
    {
        _rampSeconds += ServoAxis.StepSeconds;
        switch (State)
        {
            case Cia402State.NotReadyToSwitchOn:
                Move(1, Cia402State.SwitchOnDisabled);
                break;
            case Cia402State.QuickStopActive when _leavingTo is null && !StaysInQuickStop && IsRampOver:
                _leavingTo = Cia402State.SwitchOnDisabled;
                break;
            case Cia402State.FaultReactionActive when IsRampOver:
                axis.Release();
                if (!axis.Plant.Powered)
                {
                    Move(14, Cia402State.Fault);
                }

                break;
        }

        FinishLeaving();
    }

    private bool StaysInQuickStop => _holdAfterStop || QuickStopOption is >= 5 and <= 8;

    private bool IsRampOver => !axis.Plant.Powered || axis.IsReleasing
        || (axis.Trajectory.IsStanding && !axis.IsTurning) || _rampSeconds > LongestRampSeconds;

    private void FinishLeaving()
    {
        if (_leavingTo is not { } to || !IsRampOver)
        {
            return;
        }

        axis.Release();
        if (!axis.Plant.Powered)
        {
            _leavingTo = null;
            Move(State == Cia402State.QuickStopActive ? 12 : to == Cia402State.SwitchedOn ? 5 : 8, to);
        }
    }

    private void Take(int number, Cia402State to)
    {
        switch (number)
        {
            case 4 or 16:
                axis.Energise();
                Warning = false;
                break;
            case 5:
                axis.Stop(_deceleration);
                Leave(to);
                return;
            case 8 when !axis.IsTurning:
                Leave(to);
                return;
            case 8 or 9 or 12:
                axis.Cut();
                _leavingTo = null;
                break;
            case 11 when QuickStopOption == 0:
                axis.Cut();
                Move(11, Cia402State.QuickStopActive);
                Move(12, Cia402State.SwitchOnDisabled);
                return;
            case 11:
                BeginQuickStop(false);
                return;
        }

        Move(number, to);
    }

    private void BeginQuickStop(bool hold)
    {
        _leavingTo = null;
        _holdAfterStop = hold;
        _rampSeconds = 0;
        axis.QuickStop();
        Move(11, Cia402State.QuickStopActive);
    }

    private void Leave(Cia402State to)
    {
        _leavingTo = to;
        _rampSeconds = 0;
        axis.Homing.Abandon();
    }

    private void Move(int transition, Cia402State to)
    {
        LastTransition = transition;
        State = to;
        if (transition == 13)
        {
            _rampSeconds = 0;
        }
    }
}

namespace Supervisor.Scenarios.Exploration;

/// <summary>What a drive does of itself in one cycle.</summary>
internal enum DriveTurn : byte
{
    /// <summary>Does what the word says.</summary>
    Act = 0,

    /// <summary>Has not looked at the word yet.</summary>
    Lag = 1,

    /// <summary>Comes to the end of the move or of the search.</summary>
    Finish = 2,
    FailHoming = 3,
    Trip = 4,

    /// <summary>Torque goes off without a word: a safe-torque-off input, a lost supply.</summary>
    LoseTorque = 5,

    /// <summary>From now on it does not slow down when told to.</summary>
    Jam = 6,

    /// <summary>From now on it does not let go of its torque when told to.</summary>
    Stick = 7,

    /// <summary>Its supply dipped: it begins anew, its zero gone.</summary>
    Restart = 8,

    /// <summary>The cause of its fault still stands: the reset's edge does nothing.</summary>
    RefuseReset = 9,

    /// <summary>After a quick stop it leaves torque on (the option code's other choice).</summary>
    HoldAfterQuickStop = 10,
}

/// <summary>
/// A drive with the power states and words of CiA 402, written from the standard's tables and not from our own code.
/// </summary>
/// <remarks>
/// Statuswords, controlwords and the numbers of the transitions: tables of IEC 61800-7-201 as general-purpose open stacks give them
/// (read in secondary texts). Bits of profile position and what halt does to a running set-point: values from memory.
/// </remarks>
internal static class StandardDrive
{
    /// <summary>Statusword 6041h.</summary>
    public static ushort Statusword(in Composite s)
    {
        var word = s.Power switch
        {
            Power.SwitchOnDisabled => 0x40,
            Power.ReadyToSwitchOn => 0x21,
            Power.SwitchedOn => 0x23,
            Power.OperationEnabled => 0x27,
            Power.QuickStopActive => 0x07,
            Power.FaultReaction => 0x0F,
            _ => 0x08,
        };
        word |= s.InPosition || ((s.Word & 0x100) != 0 && s.Motion == Motion.Still) ? 0x400 : 0;
        word |= (s.Homing ? s.Zero : s.Acknowledged) ? 0x1000 : 0;
        word |= s.Homing && s.HomingError ? 0x2000 : 0;
        return (ushort)word;
    }

    /// <summary>Which turns tell something that others don't, before what is wanted is written.</summary>
    public static bool CanTake(in Composite s, DriveTurn turn) => turn switch
    {
        DriveTurn.Act => true,
        DriveTurn.Lag => !s.Lagged && (s.Word != s.Wanted || s.Homing != s.WantsHoming) && Matters(s),
        DriveTurn.Finish => s.Pending && s.Motion == Motion.Moving && s.Power == Power.OperationEnabled,
        DriveTurn.FailHoming => s.Pending && s.Homing && s.Power == Power.OperationEnabled,
        DriveTurn.Trip => s.Power is not (Power.Fault or Power.FaultReaction),
        DriveTurn.LoseTorque => s.Power is Power.OperationEnabled or Power.QuickStopActive,
        DriveTurn.Jam => s.Motion == Motion.Moving && !s.Jammed,
        DriveTurn.Stick => s.Powered && !s.Stuck && (s.Wanted & 0x0F) != 0x0F,
        DriveTurn.Restart => !s.RestartUnnoticed,
        DriveTurn.RefuseReset => s.Power == Power.Fault && (s.Wanted & 0x80) != 0,
        DriveTurn.HoldAfterQuickStop => s.Power == Power.QuickStopActive && s.Motion == Motion.Still,
        _ => false,
    };

    /// <summary>The word does something to the drive as it is: a late look at any other is no different from none.</summary>
    private static bool Matters(in Composite s) =>
        s.Powered || (s.Wanted & 0x86) == 0x06 || (s.Power == Power.SwitchedOn && s.Wanted != s.Word) || (s.Power == Power.Fault && ((s.Wanted | s.Word) & 0x80) != 0);

    /// <summary>One cycle: the word and mode in <see cref="Composite.Held"/> were written to it.</summary>
    public static void Act(ref Composite s, DriveTurn turn, bool written, Trail trail)
    {
        switch (turn)
        {
            case DriveTurn.Lag:
                s.Lagged = true;
                Coast(ref s, slowing: s.Motion == Motion.Slowing);
                return;
            case DriveTurn.Restart:
                Unpower(ref s);
                (s.Power, s.Word, s.Homing) = (Power.SwitchOnDisabled, 0, false);
                s.Acknowledged = s.InPosition = s.HomingError = s.Zero = s.Lagged = false;
                s.RestartUnnoticed = true;
                return;
            case DriveTurn.Trip:
                s.Power = s.Powered ? Power.FaultReaction : Power.Fault;
                break;
            case DriveTurn.LoseTorque:
                s.Power = Power.SwitchOnDisabled;
                break;
            case DriveTurn.Jam:
                s.Jammed = true;
                break;
            case DriveTurn.Stick:
                s.Stuck = true;
                break;
            default:
                break;
        }

        var before = s.Word;
        if (written)
        {
            s.Lagged = false;
            s.Word = s.Held;
            TakeMode(ref s);
        }

        var slowing = s.Motion == Motion.Slowing;
        if (turn is not (DriveTurn.Trip or DriveTurn.LoseTorque))
        {
            ChangePower(ref s, before, turn, trail);
        }

        Move(ref s, before, turn, trail);
        Coast(ref s, slowing);
    }

    /// <summary>A change of mode ends what ran in the old one.</summary>
    private static void TakeMode(ref Composite s)
    {
        if (s.Homing != s.HoldsHoming)
        {
            s.Homing = s.HoldsHoming;
            s.Pending = s.Acknowledged = s.HomingError = false;
        }
    }

    private static void ChangePower(ref Composite s, ushort before, DriveTurn turn, Trail trail)
    {
        var from = s.Power;
        var word = s.Word;
        var shutdown = (word & 0x87) == 0x06;
        var switchOn = (word & 0x8F) == 0x07;
        var enable = (word & 0x8F) == 0x0F;
        var disableVoltage = (word & 0x82) == 0;
        var quickStop = (word & 0x86) == 0x02;
        s.Power = (from, word) switch
        {
            (Power.Fault, _) when (word & 0x80) != 0 && (before & 0x80) == 0 && turn != DriveTurn.RefuseReset => Power.SwitchOnDisabled, // 15
            (Power.FaultReaction, _) when s.Motion == Motion.Still || s.Jammed => Power.Fault, // 14
            (Power.SwitchOnDisabled, _) when shutdown => Power.ReadyToSwitchOn, // 2
            (Power.ReadyToSwitchOn, _) when switchOn || enable => Power.SwitchedOn, // 3
            (Power.ReadyToSwitchOn, _) when disableVoltage || quickStop => Power.SwitchOnDisabled, // 7
            (Power.SwitchedOn, _) when enable => Power.OperationEnabled, // 4
            (Power.SwitchedOn, _) when shutdown => Power.ReadyToSwitchOn, // 6
            (Power.SwitchedOn, _) when disableVoltage || quickStop => Power.SwitchOnDisabled, // 10
            (Power.OperationEnabled, _) when switchOn && !s.Stuck => Power.SwitchedOn, // 5
            (Power.OperationEnabled, _) when shutdown && !s.Stuck => Power.ReadyToSwitchOn, // 8
            (Power.OperationEnabled, _) when disableVoltage && !s.Stuck => Power.SwitchOnDisabled, // 9
            (Power.OperationEnabled, _) when quickStop => Power.QuickStopActive, // 11
            (Power.QuickStopActive, _) when disableVoltage && !s.Stuck => Power.SwitchOnDisabled, // 12
            (Power.QuickStopActive, _) when enable => Power.OperationEnabled, // 16
            (Power.QuickStopActive, _) when s.Motion == Motion.Still && !s.Stuck && turn != DriveTurn.HoldAfterQuickStop => Power.SwitchOnDisabled, // 12 by itself
            _ => from,
        };
        trail.CutByWord = from == Power.OperationEnabled && disableVoltage && !s.Powered;
        trail.OffByWord = (from is Power.OperationEnabled && !s.Powered) || (from is Power.QuickStopActive && disableVoltage && !s.Powered);
        trail.TorqueBegan = s.Power == Power.OperationEnabled && from != Power.OperationEnabled;
    }

    private static void Move(ref Composite s, ushort before, DriveTurn turn, Trail trail)
    {
        if (s.Power != Power.OperationEnabled)
        {
            s.Pending = false;
            s.Acknowledged = false;
            if (s.Motion == Motion.Moving && !(s.Jammed && s.Powered))
            {
                s.Motion = Motion.Slowing;
            }

            if (!s.Powered)
            {
                s.Jammed = s.Stuck = s.InPosition = s.HomingError = false;
            }

            return;
        }

        var pushed = s.Pending;
        trail.SetPointTaken = TakeStart(ref s, rising: (s.Word & 0x10) != 0 && (before & 0x10) == 0);
        trail.PushBegan = s.BrakeHeld && s.Pending && !pushed;

        // Nothing starts under a word that does not enable operation, even in a drive that keeps its torque in spite of it.
        var halted = (s.Word & 0x10F) != 0x00F;
        if (turn == DriveTurn.FailHoming)
        {
            (s.Pending, s.HomingError) = (false, true);
        }

        if (s.Pending && !halted && !s.BrakeHeld)
        {
            // A halted set-point that is released goes on: this is why a halt is only let go together with a new one.
            trail.MotionBegan = s.Motion != Motion.Moving;
            s.Motion = Motion.Moving;
        }
        else if (s.Motion == Motion.Moving && !s.Jammed)
        {
            s.Motion = Motion.Slowing;
        }

        if (turn == DriveTurn.Finish && s.Pending && !halted && !trail.MotionBegan)
        {
            (s.Motion, s.Pending, s.InPosition, s.Jammed) = (Motion.Still, false, true, false);
            s.Zero |= s.Homing;
        }
    }

    private static bool TakeStart(ref Composite s, bool rising)
    {
        if (s.Homing)
        {
            if (rising)
            {
                (s.Pending, s.HomingError, s.InPosition, s.Zero) = (true, false, false, false);
            }

            s.Pending &= (s.Word & 0x10) != 0;
            return false;
        }

        var taken = rising && !s.Acknowledged;
        if (taken)
        {
            // A target where it stands leaves nothing to go.
            (s.Pending, s.Acknowledged, s.InPosition) = (!s.HoldsHere, true, s.HoldsHere);
        }

        s.Acknowledged &= (s.Word & 0x10) != 0;
        return taken;
    }

    private static void Coast(ref Composite s, bool slowing)
    {
        if (slowing && s.Motion == Motion.Slowing)
        {
            s.Motion = Motion.Still;
        }
    }

    private static void Unpower(ref Composite s)
    {
        s.Pending = s.Jammed = s.Stuck = false;
        s.Motion = s.Motion == Motion.Moving ? Motion.Slowing : s.Motion;
    }
}

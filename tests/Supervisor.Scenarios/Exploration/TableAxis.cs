using Supervisor.Drives.Coding;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Axes;

namespace Supervisor.Scenarios.Exploration;

/// <summary>
/// Interprets rows exactly as the running axis does: node, goal, effects and deadline, and in which order a feedback raises its events.
/// That it does is checked by replaying recorded runs of the real axis through it.
/// </summary>
internal sealed class TableAxis(TableUnderTest table, CodedGoals goals, Trail trail)
{
    /// <summary>Cycles that each deadline lasts: short, but long enough for a healthy drive that lags once.</summary>
    public static byte CyclesOf(AxisDeadline deadline) => deadline switch
    {
        AxisDeadline.None or AxisDeadline.Keep => 0,
        AxisDeadline.Energise => 5,
        AxisDeadline.BrakeRelease => 3,
        AxisDeadline.Home => 8,
        AxisDeadline.Move => 5,
        AxisDeadline.Stop => 5,
        AxisDeadline.BrakeClose => 3,
        AxisDeadline.PowerOff => 3,
        AxisDeadline.Clear => 4,
        AxisDeadline.JogLapse => 4,
        AxisDeadline.Prove => 5,
        _ => throw new NotSupportedException($"The exploration does not know the deadline {deadline}: give it its cycles"),
    };

    public TableUnderTest Table => table;

    /// <summary>Gives a command; true when it became an event or was answered at once.</summary>
    public bool Give(ref Composite s, Hand command)
    {
        if (!s.Online)
        {
            return false;
        }

        if (command == Hand.Support)
        {
            return s.Node == AxisNode.FaultHolding && s.StillSeen >= 2 && TryRaise(ref s, AxisEvent.SupportGiven, command);
        }

        if (command == Hand.Reset)
        {
            return s.Faulted && TryRaise(ref s, AxisEvent.ResetGiven, command);
        }

        var forbidden = command == Hand.Enable ? s.TorqueForbidden : s.TorqueForbidden || s.MotionForbidden;
        if (s.Faulted || (command != Hand.Disable && forbidden))
        {
            return false;
        }

        switch (command)
        {
            case Hand.Enable when s.Node == AxisNode.Ready:
            case Hand.Disable when s.Node == AxisNode.Off:
                return true;
            case Hand.Enable:
                return s.Referenced && TryRaise(ref s, AxisEvent.EnableGiven, command);
            case Hand.Disable:
                return TryRaise(ref s, AxisEvent.DisableGiven, command);
            case Hand.Home:
                return TryRaise(ref s, AxisEvent.HomeGiven, command);
            case Hand.Prove:
                return !s.Pressing && TryRaise(ref s, AxisEvent.ProofGiven, command);
            default:
                var on = command == Hand.Jog ? AxisEvent.JogGiven : AxisEvent.MoveGiven;
                if (!s.Referenced || !table.Awaits(s.Node, on))
                {
                    return false;
                }

                s.MoveTaken = s.Pressing = false;
                return TryRaise(ref s, on, command);
        }
    }

    /// <summary>Puts a fault on the axis.</summary>
    public void SeeFault(ref Composite s)
    {
        if (!s.Faulted || s.Node == AxisNode.FaultClearing)
        {
            Raise(ref s, AxisEvent.FaultSeen);
        }
    }

    /// <summary>The drive no longer answers, or begins anew.</summary>
    public void MeetAnew(ref Composite s)
    {
        // A drive that may hold a load is read before it is told anything.
        BeginMeeting(ref s, s.Node == AxisNode.FaultHolding ? DriveGoal.Hold : DriveGoal.QuickStop);
    }

    /// <summary>The first look at a drive that may hold a load: what has torque is halted, which keeps it.</summary>
    public void MeetHeldLoad(ref Composite s)
    {
        if (s.Powered)
        {
            BeginMeeting(ref s, DriveGoal.Halt);
        }
        else
        {
            Raise(ref s, AxisEvent.TorqueOff);
            BeginMeeting(ref s, DriveGoal.QuickStop);
        }
    }

    private void BeginMeeting(ref Composite s, DriveGoal goal)
    {
        (s.Goal, s.Stage, s.Feedbacks, s.StageCycles, s.StillSeen) = (goal, 0, 0, 0, 0);
        Pursue(ref s, StandardDrive.Statusword(s), fresh: false);
    }

    /// <summary>The last feedback of a meeting.</summary>
    public void Contacted(ref Composite s) => Raise(ref s, AxisEvent.Contacted);

    /// <summary>A feedback: which events it raises and in what order.</summary>
    /// <param name="s">The axis.</param>
    /// <param name="statusword">The drive's word.</param>
    /// <param name="still">It reports no motion.</param>
    /// <param name="arrival">What an end of a move in hand would be told as; null when the axis is not there.</param>
    /// <param name="proof">How the proof of a brake ends; null while it goes on.</param>
    public void Take(ref Composite s, ushort statusword, bool still, AxisEvent? arrival, AxisEvent? proof = null)
    {
        var powered = IsPowered(statusword);
        if (IsFault(statusword) && s.Node is not (AxisNode.FaultClearing or AxisNode.FaultOff))
        {
            SeeFault(ref s);
        }

        if (!powered)
        {
            TorqueIsOff(ref s);
        }

        Pursue(ref s, statusword, fresh: true);
        s.StillSeen = still && s.Clean ? (byte)Math.Min(s.StillSeen + 1, 2) : (byte)0;
        if (s.StillSeen >= 2 && table.Awaits(s.Node, AxisEvent.AtRest))
        {
            Raise(ref s, AxisEvent.AtRest);
        }

        if (s.Node == AxisNode.ProvingBrake && (s.MoveTaken || proof == AxisEvent.ProofFailedUnderLoad) && proof is { } ended)
        {
            Raise(ref s, ended);
        }

        if (s.Node is AxisNode.Running or AxisNode.Jogging && s.Goal == DriveGoal.Move && s.MoveTaken && arrival is { } end)
        {
            var touches = s.InHand == Hand.Contact && end == AxisEvent.Arrived;
            s.Pressing |= touches;
            Raise(ref s, end);
            if (touches)
            {
                Begin(ref s, DriveGoal.Halt, anew: false);
            }
        }
    }

    /// <summary>The deadline's time has come.</summary>
    public void PassDeadline(ref Composite s)
    {
        trail.Passed = s.Deadline;
        (s.Deadline, s.Remaining) = (AxisDeadline.None, 0);
        Raise(ref s, AxisEvent.DeadlinePassed);
    }

    public void Raise(ref Composite s, AxisEvent on, Hand given = Hand.None)
    {
        var number = table.Find(s.Node, on);
        if (number < 0)
        {
            trail.Violate($"total: {on} has no row in {s.Node}");
            return;
        }

        trail.Use(number);
        ref readonly var row = ref table[number];
        s.Node = row.To;
        s.HoldsBrake = row.To switch
        {
            AxisNode.ProofBrakeClosing or AxisNode.BrakeClosing or AxisNode.FaultBrakeClosing => true,
            AxisNode.ProofBrakeReleasing or AxisNode.Off or AxisNode.FaultOff => false,
            _ => s.HoldsBrake,
        };
        Apply(ref s, row.Effects, given);
        if (row.Goal != DriveGoal.None)
        {
            Begin(ref s, row.Goal, on is AxisEvent.MoveGiven or AxisEvent.JogGiven);
        }

        if (row.Deadline != AxisDeadline.Keep)
        {
            (s.Deadline, s.Remaining) = (row.Deadline, CyclesOf(row.Deadline));
        }
    }

    private bool TryRaise(ref Composite s, AxisEvent on, Hand given)
    {
        if (!table.Awaits(s.Node, on))
        {
            return false;
        }

        Raise(ref s, on, given);
        return true;
    }

    private void Apply(ref Composite s, AxisEffects effects, Hand given)
    {
        if ((effects & AxisEffects.Replace) != 0)
        {
            End(ref s, Outcome.Replaced);
        }

        if ((effects & AxisEffects.Take) != 0)
        {
            if (s.InHand != Hand.None)
            {
                trail.Violate($"ends once: {given} is taken while {s.InHand} is in hand and has not ended");
            }

            s.InHand = given;
            trail.Took = true;
        }

        if ((effects & AxisEffects.LoseReference) != 0)
        {
            s.Referenced = false;
        }

        if ((effects & AxisEffects.GainReference) != 0)
        {
            s.Referenced = true;
        }

        if ((effects & AxisEffects.Stay) != 0)
        {
            s.StayKnown = true;
        }

        if ((effects & AxisEffects.Done) != 0)
        {
            End(ref s, Outcome.Done);
        }

        if ((effects & AxisEffects.Fail) != 0)
        {
            End(ref s, Outcome.Failed);
        }

        if ((effects & (AxisEffects.Latch | AxisEffects.Report)) != 0)
        {
            trail.FaultReports++;
        }

        if ((effects & AxisEffects.Latch) != 0)
        {
            s.Faulted = true;
            trail.Latched = true;
            End(ref s, Outcome.Failed);
        }

        if ((effects & AxisEffects.Unlatch) != 0)
        {
            trail.Unlatched |= s.Faulted;
            s.Faulted = false;
        }
    }

    private void End(ref Composite s, Outcome outcome)
    {
        if (s.InHand != Hand.None)
        {
            (trail.Ended, trail.Outcome) = (s.InHand, outcome);
            s.InHand = Hand.None;
        }
    }

    private void Begin(ref Composite s, DriveGoal goal, bool anew)
    {
        if (goal == s.Goal && !anew)
        {
            return;
        }

        (s.Goal, s.Stage, s.Feedbacks, s.StageCycles, s.StillSeen) = (goal, 0, 0, 0, 0);
        PutTorqueLimit(ref s);
        goals.Pursue(ref s, StandardDrive.Statusword(s), fresh: false);
    }

    private static void PutTorqueLimit(ref Composite s)
    {
        s.Pressing &= s.Goal is not (DriveGoal.Energise or DriveGoal.Home);
        s.Limit = s.Goal switch
        {
            DriveGoal.Home => Limit.Homing,
            DriveGoal.Move => Limit.Moving,
            DriveGoal.Hold when !s.Pressing => Limit.Holding,
            DriveGoal.Stand => Limit.Holding,
            DriveGoal.Push => Limit.Proof,
            DriveGoal.QuickStop or DriveGoal.Halt when s.Limit == Limit.Proof && s.HoldsBrake => Limit.Proof,
            DriveGoal.QuickStop or DriveGoal.Halt when !s.Pressing => Limit.Stopping,
            DriveGoal.Energise => Limit.Holding,
            _ => s.Limit,
        };
    }

    private void TorqueIsOff(ref Composite s)
    {
        if (table.Awaits(s.Node, AxisEvent.TorqueOff))
        {
            Raise(ref s, AxisEvent.TorqueOff);
        }
        else if (s.Node is AxisNode.BrakeReleasing or AxisNode.HomeBrakeReleasing or AxisNode.Searching or AxisNode.Ready or AxisNode.Running or AxisNode.Jogging or AxisNode.Halting
            or AxisNode.ProofBrakeClosing or AxisNode.ProvingBrake or AxisNode.ProofBrakeReleasing)
        {
            SeeFault(ref s);
        }
    }

    private void Pursue(ref Composite s, ushort statusword, bool fresh)
    {
        var result = goals.Pursue(ref s, statusword, fresh);
        if (!fresh)
        {
            return;
        }

        if (result == GoalResult.Reached && s.Goal is (DriveGoal.Move or DriveGoal.Push))
        {
            s.MoveTaken = true;
        }
        else if (result == GoalResult.Reached && table.Awaits(s.Node, AxisEvent.GoalReached))
        {
            Raise(ref s, AxisEvent.GoalReached);
        }
        else if (result == GoalResult.Failed && table.Awaits(s.Node, AxisEvent.GoalFailed))
        {
            Raise(ref s, AxisEvent.GoalFailed);
        }
    }

    private static bool IsPowered(ushort statusword) =>
        (statusword & 0x6F) is 0x27 or 0x07 || (statusword & 0x4F) == 0x0F;

    private static bool IsFault(ushort statusword) => (statusword & 0x4F) is 0x0F or 0x08;
}

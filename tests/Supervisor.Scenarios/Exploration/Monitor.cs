using Supervisor.Drives.Coding;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Axes;

namespace Supervisor.Scenarios.Exploration;

/// <summary>
/// Judges a step by what is measured and told, and never by the table: what was commanded and what happened since gives the axis a
/// permit; motion and torque must keep to it within a bounded time.
/// </summary>
internal static class Monitor
{
    /// <summary>Cycles from an order to stop until a drive that is not jammed slows: one to write it, one for its lag, one to act.</summary>
    private const int SlowingWithin = 3;

    /// <summary>Cycles from the order to cut power until a drive that obeys has cut it.</summary>
    private const int CutWithin = 2;

    /// <summary>Cycles until torque is off after any reason for it, the longest way: to rest, brake, off, each step lagging.</summary>
    private const int OffWithin = 16;

    /// <summary>Cycles until a motor that holds a load has left off pushing: the whole of a new set-point, each step lagging.</summary>
    private const int RelievedWithin = 10;

    // Rest counts once two feedbacks in a row have told it; then the brake may close. In the counter of the brake: 6, 7, 0, 1, …
    private const byte AwaitsRest = 6;

    public static void Judge(in Composite before, ref Composite s, Turn turn, Trail trail)
    {
        var cycle = turn < Turn.Category0;
        if (cycle || turn == Turn.ActUnseen)
        {
            JudgeDrive(before, s, turn, trail);
        }

        Permit(before, ref s, turn, trail);
        if (cycle)
        {
            CountOwed(before, ref s, trail);
            JudgeShown(before, s, trail);
        }

        JudgeEnds(before, s, turn, trail);
        JudgeWaiting(s, trail);
        JudgeFault(before, s, turn, trail);
        StopRules.Judge(before, s, turn, trail);
        Acceptance.Judge(before, s, turn, trail);
    }

    private static void JudgeDrive(in Composite before, in Composite s, Turn turn, Trail trail)
    {
        // What was on the wire before a stop may still begin between two exchanges; the next word ends it.
        var isLate = turn == Turn.ActUnseen && before.Held != before.Wanted;
        var mayMove = before.Permit is Exploration.Permit.Motion or Exploration.Permit.Search;
        if (trail.MotionBegan && !mayMove && !isLate)
        {
            trail.Violate("no motion begins without a command in force");
        }

        if (trail.MotionBegan && !isLate && (before.TorqueForbidden || before.MotionForbidden))
        {
            trail.Violate("no motion begins while an interlock is open or not reset");
        }

        var kept = before.Permit == Exploration.Permit.Hold && before.Powered;
        if (trail.TorqueBegan && !isLate && !kept && (before.Permit is Exploration.Permit.Hold || before.Permit == Exploration.Permit.Off || before.TorqueForbidden))
        {
            trail.Violate("no torque begins without a command in force, nor under an interlock of category 0 or 1");
        }

        if (trail.CutByWord && !before.AtOnce && before.Link == Link.Met)
        {
            trail.Violate("power is cut only by category 0 or where a stop failed");
        }

        if (trail.OffByWord && !before.AtOnce && before.BrakeCycles != TableAxis.CyclesOf(AxisDeadline.BrakeClose) && before.Link == Link.Met)
        {
            trail.Violate("torque is not taken before the brake had its time to close");
        }

        if (trail.PushBegan && s.BrakeHeldCycles < TableAxis.CyclesOf(AxisDeadline.BrakeClose))
        {
            trail.Violate("nothing pushes against a brake that had no time to close");
        }

        if (before.BrakeHeld && !s.BrakeHeld && s.Powered && s.Pending && s.Online)
        {
            trail.Violate("the brake is opened under torque only when nothing pushes any more");
        }

        if (s.Referenced && !s.Zero && !s.RestartUnnoticed && s.Online)
        {
            trail.Violate("referenced only while the drive knows its zero");
        }
    }

    /// <summary>The rules of the design's table of states, as they bear on motion and torque.</summary>
    private static void Permit(in Composite before, ref Composite s, Turn turn, Trail trail)
    {
        var permit = before.Permit;
        var atOnce = before.AtOnce;
        if (before.InHand == Hand.Prove && turn is (Turn.Stop or Turn.Halt or Turn.LoseAuthority or Turn.Category2 or Turn.LeaveUnrelieved))
        {
            permit = Exploration.Permit.Off;
        }
        else if (turn is Turn.Stop or Turn.Halt or Turn.LoseAuthority or Turn.Category2 || StopRules.EndsJog(turn, trail))
        {
            permit = permit == Exploration.Permit.Motion ? Exploration.Permit.Torque : permit is Exploration.Permit.Torque or Exploration.Permit.Hold ? permit : Exploration.Permit.Off;
        }
        else if (turn is Turn.Category0 or Turn.Category1)
        {
            permit = Exploration.Permit.Off;
            atOnce |= turn == Turn.Category0 && s.Online;
        }

        if (trail.Ended != Hand.None && !trail.Took && trail.Outcome is Outcome.Done or Outcome.Failed && permit != Exploration.Permit.Off)
        {
            permit = Exploration.Permit.Torque;
        }

        if (trail.Accepted && trail.Took)
        {
            s.StayKnown = s.SetPointSeen = false;
            permit = Composition.CommandOf(turn) switch
            {
                Hand.Enable => Exploration.Permit.Energising,
                Hand.Home => Exploration.Permit.Search,
                Hand.Disable or Hand.Support => Exploration.Permit.Off,
                Hand.Move or Hand.Contact or Hand.Jog => Exploration.Permit.Motion,
                _ => permit,
            };
        }

        if (turn == Turn.FailProof && trail.Latched)
        {
            permit = Exploration.Permit.Hold;
        }
        else if (trail.Latched || (s.Link != Link.Met && permit != Exploration.Permit.Hold))
        {
            permit = Exploration.Permit.Off;
        }

        if (permit == Exploration.Permit.Hold && !s.Powered)
        {
            permit = Exploration.Permit.Off;
        }

        s.SetPointSeen = (s.SetPointSeen || trail.SetPointTaken) && permit == Exploration.Permit.Motion;
        atOnce = s.Link == Link.Met && (s.Powered || s.TorqueIsComing) && permit == Exploration.Permit.Off
            && (atOnce || trail.Passed is AxisDeadline.Stop or AxisDeadline.PowerOff or AxisDeadline.Energise);
        if (permit != before.Permit || atOnce != before.AtOnce || trail.Latched)
        {
            s.Owed = 0;
        }

        if (permit != before.Permit)
        {
            s.BrakeCycles = s.Motion == Motion.Still ? (byte)0 : AwaitsRest;
        }

        s.KeepingTold = s.Online && permit == Exploration.Permit.Off && (s.KeepingTold || (before.Faulted && trail.Passed == AxisDeadline.PowerOff));
        (s.Permit, s.AtOnce) = (permit, atOnce);
    }

    private static void CountOwed(in Composite before, ref Composite s, Trail trail)
    {
        if (before.Link != Link.Met || s.Link != Link.Met)
        {
            (s.Owed, s.BrakeCycles) = (0, AwaitsRest);
            return;
        }

        var owesRest = s.Permit is <= Exploration.Permit.Torque or Exploration.Permit.Hold && s.Motion != Motion.Still;
        var owesRelief = s.Permit == Exploration.Permit.Hold && s.Pending;
        var owesOff = s.Permit == Exploration.Permit.Off && s.Powered;
        s.Owed = (owesRest || owesOff || owesRelief) && !(s.Stuck && s.Powered) ? (byte)Math.Min(s.Owed + 1, OffWithin) : (byte)0;
        s.BrakeCycles = s.Permit != Exploration.Permit.Off || !s.Powered ? (byte)0
            : s.Motion != Motion.Still ? AwaitsRest
            : s.BrakeCycles >= AwaitsRest ? (byte)((s.BrakeCycles + 1) & 7)
            : (byte)Math.Min(s.BrakeCycles + 1, TableAxis.CyclesOf(AxisDeadline.BrakeClose));
        if (s.Motion == Motion.Moving && owesRest && !s.Jammed && s.Owed > SlowingWithin)
        {
            trail.Violate("after a stop the drive heads to rest");
        }

        if (s.AtOnce && s.Powered && !s.Stuck && s.Power != Power.FaultReaction && s.Owed > CutWithin)
        {
            trail.Violate("category 0 and a failed stop take torque at once");
        }

        if (owesRelief && s.Owed > RelievedWithin)
        {
            trail.Violate("a motor that holds a load leaves off pushing");
        }

        if (s.Owed == OffWithin)
        {
            trail.Violate("an axis told to stop rests, and one told to go off is off, in time");
        }
    }

    /// <summary>State and detail as people see them against torque and motion as measured.</summary>
    private static void JudgeShown(in Composite before, in Composite s, Trail trail)
    {
        var (state, detail) = (s.Node.State(), s.Node.Detail());
        if (before.Link == Link.Met && s.Online)
        {
            var showsTorque = state is AxisState.Ready or AxisState.Moving || detail is AxisDetail.Deenergising or AxisDetail.Stopping or AxisDetail.HoldingLoad
                || (state == AxisState.Homing && detail != AxisDetail.Energising);
            if (!s.Powered && showsTorque && !trail.Latched)
            {
                trail.Violate("torque is shown only while it is measured");
            }

            if (s.Powered && detail == AxisDetail.None && state is AxisState.Disabled or AxisState.Faulted)
            {
                trail.Violate("disabled and faulted at rest mean that torque is off");
            }

            if (s.Motion != Motion.Still && state == AxisState.Ready)
            {
                trail.Violate("ready means standing");
            }
        }

        var limit = (state, detail) switch
        {
            (_, AxisDetail.HoldingLoad) => Limit.Holding,
            _ when s.Goal == DriveGoal.Push => Limit.Proof,
            (_, AxisDetail.Stopping) => Limit.Stopping,
            (_, AxisDetail.Energising) or (AxisState.Ready, _) => Limit.Holding,
            (AxisState.Moving, _) => Limit.Moving,
            (AxisState.Homing, _) => Limit.Homing,
            _ => s.Limit,
        };
        var keepsLittle = (s.Pressing && s.Permit <= Exploration.Permit.Torque && s.Limit == Limit.Moving) || (s.HoldsBrake && s.Limit == Limit.Proof);
        if (s.Limit != limit && !keepsLittle)
        {
            trail.Violate("each phase has its torque limit");
        }

        if (detail == AxisDetail.HoldingLoad && s.Online && (!s.HoldsBrake || (s.Powered && s.Permit != Exploration.Permit.Hold)) && before.Link == Link.Met)
        {
            trail.Violate("a load is held by torque only where its brake failed, and with that closed");
        }

        if (state == AxisState.Ready && detail != AxisDetail.ProvingBrake && s.BrakeHeld && s.Online)
        {
            trail.Violate("an axis that is ready has its brake open");
        }

        if (state == AxisState.Ready && detail != AxisDetail.ProvingBrake && !s.StayKnown)
        {
            trail.Violate("standstill is watched from where the axis came to stand");
        }
    }

    private static void JudgeEnds(in Composite before, in Composite s, Turn turn, Trail trail)
    {
        var (state, detail) = (s.Node.State(), s.Node.Detail());
        if (trail.Ended != Hand.None && trail.Outcome == Outcome.Done)
        {
            var isTrue = trail.Ended switch
            {
                Hand.Enable => s.Powered && state == AxisState.Ready,
                Hand.Home => s.Zero && s.Referenced && state == AxisState.Ready,
                Hand.Move => before.SetPointSeen && s.InPosition && s.Motion == Motion.Still && state == AxisState.Ready,
                Hand.Contact => before.SetPointSeen && s.Motion == Motion.Still && state == AxisState.Ready,
                Hand.Jog => turn == Turn.ReleaseJog ? detail == AxisDetail.Stopping : before.SetPointSeen && s.InPosition && s.Motion == Motion.Still && state == AxisState.Ready,
                Hand.Disable => !s.Powered && state == AxisState.Disabled,
                Hand.Support => !s.Powered && state == AxisState.Faulted,
                Hand.Prove => s.Powered && s.Motion == Motion.Still && (state == AxisState.Ready ? !s.BrakeHeld : s.BrakeHeld && detail == AxisDetail.Deenergising),
                _ => s.Power != Power.Fault && !s.Faulted && state == AxisState.Disabled,
            };
            // A fault of the same feedback comes after it.
            if (!isTrue && !(trail.Latched && trail.Ended == Hand.Disable && !s.Powered))
            {
                trail.Violate("done is told only of what is done");
            }
        }

        var stops = turn is Turn.Category0 or Turn.Category1 or Turn.Category2 or Turn.Stop or Turn.Halt or Turn.LoseAuthority;
        if (stops && before.InHand is Hand.Enable or Hand.Home or Hand.Move or Hand.Contact or Hand.Jog or Hand.Prove && trail.Outcome != Outcome.Replaced)
        {
            trail.Violate("a stop ends the command in hand");
        }

        if (StopRules.EndsJog(turn, trail) && trail.Outcome != (turn == Turn.ReleaseJog ? Outcome.Done : Outcome.Replaced))
        {
            trail.Violate("a jog ends with its press: done when it is released, replaced when it lapses or is cut off");
        }

        if (trail.Passed == AxisDeadline.PowerOff && before.InHand != Hand.None && trail.Outcome != Outcome.Failed)
        {
            trail.Violate("a command whose torque does not go off in time has failed");
        }

        if (trail.Accepted && trail.Took && before.InHand != Hand.None && trail.Outcome != Outcome.Replaced)
        {
            trail.Violate("a command that another replaces is told so");
        }

        var restsFaulted = state == AxisState.Faulted && s.InHand == Hand.Support;
        if (s.InHand != Hand.None && detail == AxisDetail.None && (restsFaulted || state is AxisState.Ready or AxisState.Disabled))
        {
            trail.Violate("a command in hand ends: an axis at rest has none");
        }
    }

    /// <summary>Nothing waits for ever: what is not at rest has a deadline, unless a drive that keeps its torque has been reported.</summary>
    private static void JudgeWaiting(in Composite s, Trail trail)
    {
        var (state, detail) = (s.Node.State(), s.Node.Detail());
        var rests = detail is AxisDetail.None or AxisDetail.HoldingLoad && s.InHand == Hand.None && state is AxisState.Disabled or AxisState.Ready or AxisState.Faulted;
        var keepsTorque = s.KeepingTold && (s.Wanted & 0x02) == 0;
        if (s.Online && s.Deadline == AxisDeadline.None && !rests && !keepsTorque)
        {
            trail.Violate("what is under way has a deadline");
        }

        if (s.Online && s.Deadline != AxisDeadline.None && rests)
        {
            trail.Violate("what rests has no deadline");
        }
    }

    private static void JudgeFault(in Composite before, in Composite s, Turn turn, Trail trail)
    {
        var turnsOff = turn < Turn.Category0 && s.Node.Detail() != AxisDetail.HoldingLoad && s.Node.State() == AxisState.Faulted;
        if (s.Faulted != (s.Node.State() == AxisState.Faulted))
        {
            trail.Violate("faulted is shown exactly while a fault is latched");
        }

        if (before.Permit == Exploration.Permit.Hold && before.Online && s.Online && before.Node.Detail() == AxisDetail.HoldingLoad && turnsOff && trail.FaultReports == 0)
        {
            trail.Violate("a held load whose torque goes by itself is told");
        }

        if (trail.Unlatched && (trail.Ended != Hand.Reset || trail.Outcome != Outcome.Done))
        {
            trail.Violate("a latched fault leaves only by a reset");
        }

        if (before.Faulted && !s.Faulted && !trail.Unlatched)
        {
            trail.Violate("a latched fault leaves only by a reset");
        }

        if (trail.Passed is AxisDeadline.Stop or AxisDeadline.PowerOff or AxisDeadline.Energise or AxisDeadline.Home or AxisDeadline.Move or AxisDeadline.Prove && trail.FaultReports == 0)
        {
            trail.Violate("what must end in time and does not is reported");
        }
    }
}

using Supervisor.Drives.Coding;
using Supervisor.Records.Axes;
using Supervisor.Runtime.Axes;

namespace Supervisor.Scenarios.Exploration;

/// <summary>How an axis stops and gives up its torque: which words, in which order, in what time.</summary>
/// <remarks>
/// Controlwords: tables of IEC 61800-7-201 (read in secondary texts). Stop categories: IEC 60204-1, 9.2.2 (read in a secondary text).
/// </remarks>
internal static class StopRules
{
    public static void Judge(in Composite before, in Composite s, Turn turn, Trail trail)
    {
        JudgeWords(before, s, turn, trail);
        JudgeOrder(before, s, turn, trail);
        JudgeTimes(before, s, trail);
        if (s.WantsHoming && !before.WantsHoming && s.Permit != Permit.Search)
        {
            trail.Violate("a drive is put into homing only to search its zero");
        }

        if (s.Link != Link.Met && s.Wanted != before.Wanted && !IsQuickStop(s.Wanted) && !(turn == Turn.Category0 && TakesTorque(s.Wanted)))
        {
            trail.Violate("the first word to a drive that is met is its stop");
        }
    }

    /// <summary>The press is over, by the finger, the enabling input or silence.</summary>
    public static bool EndsJog(Turn turn, Trail trail) => turn is Turn.ReleaseJog or Turn.OpenEnabling || trail.Passed == AxisDeadline.JogLapse;

    private static bool IsQuickStop(ushort word) => (word & 0x86) == 0x02;

    private static bool IsHalt(ushort word) => (word & 0x10F) == 0x10F;

    private static bool TakesTorque(ushort word) => (word & 0x02) == 0;

    private static void JudgeWords(in Composite before, in Composite s, Turn turn, Trail trail)
    {
        if (!before.Online || !s.Online)
        {
            return;
        }

        var disables = turn == Turn.GiveDisable && trail.Took;
        var stops = turn is Turn.Stop or Turn.Halt or Turn.LoseAuthority or Turn.Category1 or Turn.Category2;
        var halts = turn is Turn.Stop or Turn.Halt or Turn.LoseAuthority or Turn.Category2 || EndsJog(turn, trail);
        var moves = before.Motion != Motion.Still && before.Powered;
        var ends = (trail.Latched && s.Powered && s.Node.Detail() == AxisDetail.Stopping)
            || (before.Permit is Permit.Search or Permit.Energising && before.Powered && (stops || disables))
            || (moves && stops && (before.Permit == Permit.Off || turn == Turn.Category1))
            || (before.Node.Detail() == AxisDetail.HoldingLoad && turn == Turn.Category1);
        if (ends && !IsQuickStop(s.Wanted) && !TakesTorque(s.Wanted))
        {
            trail.Violate("a fault, category 1 and what breaks off energising or a search stop by the quick stop");
        }

        if (moves && ((before.Permit == Permit.Motion && halts) || (disables && before.Permit is Permit.Motion or Permit.Torque)) && !IsHalt(s.Wanted))
        {
            trail.Violate("a stop, category 2, the end of a jog's press and disabling stop a move by halt");
        }

        if (turn == Turn.Category1 && s.Powered && before.Node.State() == AxisState.Ready && !IsHalt(s.Wanted) && !IsQuickStop(s.Wanted) && !TakesTorque(s.Wanted))
        {
            trail.Violate("category 1 puts a stop on the wire of an axis that stands ready");
        }

        var closes = before.Node.State() == AxisState.Ready ? turn is Turn.Category1 or Turn.GiveDisable : turn == Turn.GiveSupport && trail.Took;
        if (closes && (s.Wanted & 0x0F) != 0x0F)
        {
            trail.Violate("an axis that stands keeps torque while its brake closes");
        }

        var passed = trail.Passed is AxisDeadline.Stop or AxisDeadline.PowerOff or AxisDeadline.Energise;
        var cuts = passed || (turn == Turn.Category0 && !RestsOff(before) && before.InHand != Hand.Reset) || (before.AtOnce && s.AtOnce);
        if (cuts && (!TakesTorque(s.Wanted) || (s.Wanted & 0x80) != 0))
        {
            trail.Violate("category 0 and a failed stop take power by the very next word, and go on doing so");
        }

        if (stops && before.Node.Detail() == AxisDetail.Deenergising && s.Wanted != before.Wanted)
        {
            trail.Violate("a stop changes nothing while the brake closes and torque goes off");
        }

        if (s.Permit == Permit.Hold && s.Powered && s.Node.Detail() == AxisDetail.HoldingLoad && (s.Wanted & 0x0F) != 0x0F)
        {
            trail.Violate("a held load keeps its torque");
        }

        if (before.Node.Detail() == AxisDetail.HoldingLoad && stops && turn != Turn.Category1 && (s.Wanted != before.Wanted || s.Node.Detail() != AxisDetail.HoldingLoad))
        {
            trail.Violate("a stop changes nothing while a load is held");
        }

        if (before.InHand == Hand.Prove && s.Node.Detail() == AxisDetail.Deenergising && s.Powered && !s.AtOnce && (!s.HoldsBrake || (s.Wanted & 0x0F) != 0x0F))
        {
            trail.Violate("what breaks off a proof keeps the brake closed, and the torque until it is");
        }

        if (turn < Turn.Category0 && before.Node.Detail() == AxisDetail.Stopping && s.Node.Detail() == AxisDetail.Deenergising && !passed && s.Wanted != before.Wanted)
        {
            trail.Violate("what stopped the axis holds it while the brake closes");
        }

        if (turn < Turn.Category0 && before.Node.State() == AxisState.Ready && s.Node.State() == AxisState.Ready && s.Wanted != before.Wanted && s.Node.Detail() != AxisDetail.ProvingBrake)
        {
            trail.Violate("an axis that stands ready is told nothing new");
        }

        if ((s.Wanted & 0x80) != 0 && (before.Wanted & 0x80) == 0 && s.InHand != Hand.Reset)
        {
            trail.Violate("a drive's fault is reset only by a reset");
        }

        if (turn < Turn.Category0 && RestsOff(before) && RestsOff(s) && s.Wanted != 0)
        {
            trail.Violate("an axis that is off asks its drive for nothing");
        }
    }

    private static bool RestsOff(in Composite s) =>
        s.Online && s.InHand == Hand.None && s.Node.Detail() == AxisDetail.None && s.Node.State() is AxisState.Disabled or AxisState.Faulted;

    private static void JudgeOrder(in Composite before, in Composite s, Turn turn, Trail trail)
    {
        var (from, to) = (before.Node.Detail(), s.Node.Detail());
        var stops = turn is Turn.Stop or Turn.Halt or Turn.LoseAuthority or Turn.Category0 or Turn.Category1 or Turn.Category2;
        if (stops && RestsOff(before) && (from != to || before.Node.State() != s.Node.State() || before.Wanted != s.Wanted))
        {
            trail.Violate("a stop changes nothing on an axis that is off");
        }

        if (!s.Online)
        {
            return;
        }

        if (s.AtOnce && s.Powered && to != AxisDetail.Deenergising)
        {
            trail.Violate("power that is taken at once is shown as going off");
        }

        if (to == AxisDetail.Deenergising && s.Motion != Motion.Still && s.Powered && !s.AtOnce)
        {
            trail.Violate("the brake closes on an axis at rest");
        }

        if (from == AxisDetail.Deenergising && to == AxisDetail.Stopping && !trail.Latched && before.Online)
        {
            trail.Violate("what is going off is not taken back to stopping");
        }

        var keeps = before.Permit == Permit.Hold && before.Powered;
        if (trail.Met && (keeps ? to != AxisDetail.HoldingLoad || (s.Wanted & 0x1F) != 0x0F : to != AxisDetail.Stopping || !IsQuickStop(s.Wanted)))
        {
            trail.Violate("a drive just met is being stopped, and one that holds a load goes on holding it");
        }

        if (stops && from == AxisDetail.Energising && to != AxisDetail.Deenergising)
        {
            trail.Violate("energising broken off is going off, not stopping: it stands");
        }

        var reason = s.Deadline switch
        {
            AxisDeadline.Stop => to == AxisDetail.Stopping,
            AxisDeadline.BrakeClose => to == AxisDetail.Deenergising || (to == AxisDetail.ProvingBrake && s.HoldsBrake),
            AxisDeadline.PowerOff => to == AxisDetail.Deenergising,
            AxisDeadline.Energise => to == AxisDetail.Energising,
            AxisDeadline.BrakeRelease => to == AxisDetail.Energising || (to == AxisDetail.ProvingBrake && !s.HoldsBrake),
            AxisDeadline.Prove => to == AxisDetail.ProvingBrake && s.Goal == DriveGoal.Push,
            AxisDeadline.None => true,
            _ => to == AxisDetail.None,
        };
        if (!reason)
        {
            trail.Violate("the deadline that runs is that of what is shown");
        }

        if (turn == Turn.Act && before.HomingError && s.HomingError && SawItRun(before) && SawItRun(s))
        {
            trail.Violate("a search that the drive gave up ends at once");
        }

        if (trail.Latched && before.Online && from != AxisDetail.Deenergising
            && (s.Powered || to != AxisDetail.None) && s.StillSeen < 2 && to != (turn == Turn.FailProof ? AxisDetail.HoldingLoad : s.AtOnce || trail.Passed is AxisDeadline.Stop or AxisDeadline.PowerOff or AxisDeadline.Energise ? AxisDetail.Deenergising : AxisDetail.Stopping))
        {
            trail.Violate("a fault first stops the axis");
        }
    }

    private static bool SawItRun(in Composite s) => s.Goal == DriveGoal.Home && s.Stage == 3 && s.Node.State() == AxisState.Homing;

    private static void JudgeTimes(in Composite before, in Composite s, Trail trail)
    {
        if (trail.Passed == AxisDeadline.PowerOff && !before.Stuck && !s.Stuck && s.Power != Power.FaultReaction)
        {
            trail.Violate("a drive that obeys is off before the time for it ends");
        }

        if (trail.Passed == AxisDeadline.Stop && !before.Jammed && !s.Jammed && s.Motion == Motion.Still && before.Motion == Motion.Still)
        {
            trail.Violate("an axis that comes to rest is known to rest before the time for it ends");
        }

        if (trail.Latched && trail.Passed is AxisDeadline.BrakeClose or AxisDeadline.BrakeRelease)
        {
            trail.Violate("a brake's time that passes is no fault");
        }

        var isLost = before.Node.Detail() == AxisDetail.HoldingLoad && !s.Powered;
        if (trail.FaultReports > 0 && !trail.Latched && !isLost && trail.Passed is not (AxisDeadline.Stop or AxisDeadline.PowerOff))
        {
            trail.Violate("a fault is reported only where there is one");
        }

        var newOrder = s.Online && (s.Permit < before.Permit || trail.Latched || trail.Met);
        if (newOrder && s.Deadline != AxisDeadline.None && s.Remaining < TableAxis.CyclesOf(s.Deadline) - 1)
        {
            trail.Violate("an order to stop has its own time");
        }
    }
}

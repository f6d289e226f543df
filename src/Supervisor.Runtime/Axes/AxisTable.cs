using Supervisor.Drives.Coding;
using static Supervisor.Runtime.Axes.AxisEffects;
using static Supervisor.Runtime.Axes.AxisEvent;
using static Supervisor.Runtime.Axes.AxisNode;

namespace Supervisor.Runtime.Axes;

/// <summary>One row of the table.</summary>
public readonly record struct AxisRow(AxisNode From, AxisEvent On, AxisNode To, DriveGoal Goal, AxisEffects Effects, AxisDeadline Deadline);

/// <summary>
/// The state machine of an axis: (node, event) → node, what the drive is brought to, what else is done, what deadline runs. Pure.
/// </summary>
/// <remarks>
/// A pair without a row is not a transition: commands are refused before they become events, and what a feedback can say is only
/// raised where a row awaits it. Stops and faults have a row in every node.
/// </remarks>
public static class AxisTable
{
    private static readonly AxisRow?[] Index = new AxisRow?[32 * 32];

    /// <summary>The rows, in the order of an axis's life.</summary>
    public static IReadOnlyList<AxisRow> Rows { get; } =
    [
        // First contact has sent the stop; what still turns or holds torque is brought to rest and off.
        new(Connecting, Contacted, StoppingToOff, DriveGoal.QuickStop, None, AxisDeadline.Stop),

        new(Off, EnableGiven, Energising, DriveGoal.Energise, Take, AxisDeadline.Energise),
        new(Energising, GoalReached, BrakeReleasing, DriveGoal.Hold, None, AxisDeadline.BrakeRelease),
        new(BrakeReleasing, DeadlinePassed, AxisNode.Ready, DriveGoal.Hold, Done | Stay, AxisDeadline.None),

        new(Off, HomeGiven, HomeEnergising, DriveGoal.Energise, Take | LoseReference, AxisDeadline.Energise),
        new(HomeEnergising, GoalReached, HomeBrakeReleasing, DriveGoal.Hold, None, AxisDeadline.BrakeRelease),
        new(HomeBrakeReleasing, DeadlinePassed, Searching, DriveGoal.Home, None, AxisDeadline.Home),
        new(AxisNode.Ready, HomeGiven, Searching, DriveGoal.Home, Take | LoseReference, AxisDeadline.Home),
        new(Searching, GoalReached, AxisNode.Ready, DriveGoal.Hold, GainReference | Done | Stay, AxisDeadline.None),
        new(Searching, GoalFailed, FaultStopping, DriveGoal.QuickStop, Latch, AxisDeadline.Stop),
        new(Searching, DeadlinePassed, FaultStopping, DriveGoal.QuickStop, Latch, AxisDeadline.Stop),

        new(AxisNode.Ready, MoveGiven, Running, DriveGoal.Move, Take, AxisDeadline.Move),
        new(Running, MoveGiven, Running, DriveGoal.Move, Replace | Take, AxisDeadline.Move),
        new(Running, Arrived, AxisNode.Ready, DriveGoal.Hold, Done | Stay, AxisDeadline.None),
        new(Running, Missed, AxisNode.Ready, DriveGoal.Hold, Fail | Stay, AxisDeadline.None),
        new(Running, DeadlinePassed, FaultStopping, DriveGoal.QuickStop, Latch, AxisDeadline.Stop),

        // A jog lives by its press: what ends the press halts the axis, and the id never moves again.
        new(AxisNode.Ready, JogGiven, Jogging, DriveGoal.Move, Take, AxisDeadline.JogLapse),
        new(Halting, JogGiven, Jogging, DriveGoal.Move, Replace | Take, AxisDeadline.JogLapse),
        new(Jogging, Arrived, AxisNode.Ready, DriveGoal.Hold, Done | Stay, AxisDeadline.None),
        new(Jogging, JogReleased, Halting, DriveGoal.Halt, Done, AxisDeadline.Stop),
        new(Jogging, EnablingOpened, Halting, DriveGoal.Halt, Replace, AxisDeadline.Stop),
        new(Jogging, DeadlinePassed, Halting, DriveGoal.Halt, Replace, AxisDeadline.Stop),
        new(Jogging, StopRequested, Halting, DriveGoal.Halt, Replace, AxisDeadline.Stop),
        new(Jogging, Category2, Halting, DriveGoal.Halt, Replace, AxisDeadline.Stop),
        new(Jogging, Category1, StoppingToOff, DriveGoal.QuickStop, Replace, AxisDeadline.Stop),
        new(Jogging, Category0, PoweringOff, DriveGoal.CutPower, Replace, AxisDeadline.PowerOff),
        new(Jogging, DisableGiven, StoppingToOff, DriveGoal.Halt, Replace | Take, AxisDeadline.Stop),

        // A proof of the brake: closed under torque, pushed against, relieved, opened. Whatever breaks it off leaves the brake closed and
        // takes the torque; a motor that goes on pushing would jerk the axis when the brake opens.
        new(AxisNode.Ready, ProofGiven, ProofBrakeClosing, DriveGoal.Hold, Take, AxisDeadline.BrakeClose),
        new(ProofBrakeClosing, DeadlinePassed, ProvingBrake, DriveGoal.Push, None, AxisDeadline.Prove),
        new(ProvingBrake, ProofPassed, ProofBrakeReleasing, DriveGoal.Hold, None, AxisDeadline.BrakeRelease),
        new(ProvingBrake, ProofUnrelieved, BrakeClosing, DriveGoal.Halt, Done, AxisDeadline.BrakeClose),
        new(ProvingBrake, DeadlinePassed, FaultStopping, DriveGoal.QuickStop, Latch, AxisDeadline.Stop),
        new(ProvingBrake, ProofFailedUnderLoad, FaultHolding, DriveGoal.Stand, Latch, AxisDeadline.None),
        new(ProofBrakeReleasing, DeadlinePassed, AxisNode.Ready, DriveGoal.Hold, Done | Stay, AxisDeadline.None),
        .. new[] { ProofBrakeClosing, ProvingBrake, ProofBrakeReleasing }.SelectMany(BrokenOff),

        // A stop, a halt, and an interlock of category 2: torque stays. After a halt a move may follow before rest.
        new(Running, StopRequested, Halting, DriveGoal.Halt, Replace, AxisDeadline.Stop),
        new(Running, Category2, Halting, DriveGoal.Halt, Replace, AxisDeadline.Stop),
        new(Halting, MoveGiven, Running, DriveGoal.Move, Replace | Take, AxisDeadline.Move),
        new(Halting, AtRest, AxisNode.Ready, DriveGoal.Hold, Done | Stay, AxisDeadline.None),
        new(Halting, StopRequested, Halting, DriveGoal.Halt, None, AxisDeadline.Keep),
        new(Halting, Category2, Halting, DriveGoal.Halt, None, AxisDeadline.Keep),
        new(AxisNode.Ready, StopRequested, AxisNode.Ready, DriveGoal.Hold, None, AxisDeadline.None),
        new(AxisNode.Ready, Category2, AxisNode.Ready, DriveGoal.Hold, None, AxisDeadline.None),

        // A homing that is stopped has no half result: off, without a zero.
        new(Searching, StopRequested, HomeStopping, DriveGoal.QuickStop, Replace, AxisDeadline.Stop),
        new(Searching, Category2, HomeStopping, DriveGoal.QuickStop, Replace, AxisDeadline.Stop),
        new(Searching, Category1, HomeStopping, DriveGoal.QuickStop, Replace, AxisDeadline.Stop),
        new(Searching, DisableGiven, HomeStopping, DriveGoal.QuickStop, Replace | Take, AxisDeadline.Stop),
        new(HomeStopping, StopRequested, HomeStopping, DriveGoal.QuickStop, None, AxisDeadline.Keep),
        new(HomeStopping, Category2, HomeStopping, DriveGoal.QuickStop, None, AxisDeadline.Keep),
        new(HomeStopping, Category1, HomeStopping, DriveGoal.QuickStop, None, AxisDeadline.Keep),
        new(HomeStopping, AtRest, BrakeClosing, DriveGoal.None, None, AxisDeadline.BrakeClose),
        new(HomeStopping, TorqueOff, Off, DriveGoal.PowerOff, Done, AxisDeadline.None),

        // Disable, and an interlock of category 1: to rest, brake, torque off.
        new(Running, DisableGiven, StoppingToOff, DriveGoal.Halt, Replace | Take, AxisDeadline.Stop),
        new(Running, Category1, StoppingToOff, DriveGoal.QuickStop, Replace, AxisDeadline.Stop),
        new(Halting, DisableGiven, StoppingToOff, DriveGoal.Halt, Take, AxisDeadline.Stop),
        new(Halting, Category1, StoppingToOff, DriveGoal.QuickStop, None, AxisDeadline.Stop),
        new(AxisNode.Ready, DisableGiven, BrakeClosing, DriveGoal.Hold, Take, AxisDeadline.BrakeClose),
        new(AxisNode.Ready, Category1, BrakeClosing, DriveGoal.Halt, None, AxisDeadline.BrakeClose),
        new(StoppingToOff, StopRequested, StoppingToOff, DriveGoal.QuickStop, None, AxisDeadline.Keep),
        new(StoppingToOff, Category2, StoppingToOff, DriveGoal.QuickStop, None, AxisDeadline.Keep),
        new(StoppingToOff, Category1, StoppingToOff, DriveGoal.QuickStop, None, AxisDeadline.Keep),
        new(StoppingToOff, AtRest, BrakeClosing, DriveGoal.None, None, AxisDeadline.BrakeClose),
        new(StoppingToOff, TorqueOff, Off, DriveGoal.PowerOff, Done, AxisDeadline.None),
        new(BrakeClosing, StopRequested, BrakeClosing, DriveGoal.None, None, AxisDeadline.Keep),
        new(BrakeClosing, Category2, BrakeClosing, DriveGoal.None, None, AxisDeadline.Keep),
        new(BrakeClosing, Category1, BrakeClosing, DriveGoal.None, None, AxisDeadline.Keep),
        new(BrakeClosing, DeadlinePassed, PoweringOff, DriveGoal.PowerOff, None, AxisDeadline.PowerOff),
        new(BrakeClosing, TorqueOff, Off, DriveGoal.PowerOff, Done, AxisDeadline.None),
        new(PoweringOff, StopRequested, PoweringOff, DriveGoal.None, None, AxisDeadline.Keep),
        new(PoweringOff, Category2, PoweringOff, DriveGoal.None, None, AxisDeadline.Keep),
        new(PoweringOff, Category1, PoweringOff, DriveGoal.None, None, AxisDeadline.Keep),
        new(PoweringOff, TorqueOff, Off, DriveGoal.PowerOff, Done, AxisDeadline.None),

        // Energising is broken off: the brake may be half open, so it gets its time to close.
        new(Energising, StopRequested, BrakeClosing, DriveGoal.QuickStop, Replace, AxisDeadline.BrakeClose),
        new(Energising, Category2, BrakeClosing, DriveGoal.QuickStop, Replace, AxisDeadline.BrakeClose),
        new(Energising, Category1, BrakeClosing, DriveGoal.QuickStop, Replace, AxisDeadline.BrakeClose),
        new(Energising, DisableGiven, BrakeClosing, DriveGoal.QuickStop, Replace | Take, AxisDeadline.BrakeClose),
        new(BrakeReleasing, StopRequested, BrakeClosing, DriveGoal.QuickStop, Replace, AxisDeadline.BrakeClose),
        new(BrakeReleasing, Category2, BrakeClosing, DriveGoal.QuickStop, Replace, AxisDeadline.BrakeClose),
        new(BrakeReleasing, Category1, BrakeClosing, DriveGoal.QuickStop, Replace, AxisDeadline.BrakeClose),
        new(BrakeReleasing, DisableGiven, BrakeClosing, DriveGoal.QuickStop, Replace | Take, AxisDeadline.BrakeClose),
        new(HomeEnergising, StopRequested, BrakeClosing, DriveGoal.QuickStop, Replace, AxisDeadline.BrakeClose),
        new(HomeEnergising, Category2, BrakeClosing, DriveGoal.QuickStop, Replace, AxisDeadline.BrakeClose),
        new(HomeEnergising, Category1, BrakeClosing, DriveGoal.QuickStop, Replace, AxisDeadline.BrakeClose),
        new(HomeEnergising, DisableGiven, BrakeClosing, DriveGoal.QuickStop, Replace | Take, AxisDeadline.BrakeClose),
        new(HomeBrakeReleasing, StopRequested, BrakeClosing, DriveGoal.QuickStop, Replace, AxisDeadline.BrakeClose),
        new(HomeBrakeReleasing, Category2, BrakeClosing, DriveGoal.QuickStop, Replace, AxisDeadline.BrakeClose),
        new(HomeBrakeReleasing, Category1, BrakeClosing, DriveGoal.QuickStop, Replace, AxisDeadline.BrakeClose),
        new(HomeBrakeReleasing, DisableGiven, BrakeClosing, DriveGoal.QuickStop, Replace | Take, AxisDeadline.BrakeClose),

        // Category 0: torque off at once, from anywhere.
        new(Energising, Category0, PoweringOff, DriveGoal.CutPower, Replace, AxisDeadline.PowerOff),
        new(BrakeReleasing, Category0, PoweringOff, DriveGoal.CutPower, Replace, AxisDeadline.PowerOff),
        new(HomeEnergising, Category0, PoweringOff, DriveGoal.CutPower, Replace, AxisDeadline.PowerOff),
        new(HomeBrakeReleasing, Category0, PoweringOff, DriveGoal.CutPower, Replace, AxisDeadline.PowerOff),
        new(Searching, Category0, PoweringOff, DriveGoal.CutPower, Replace, AxisDeadline.PowerOff),
        new(HomeStopping, Category0, PoweringOff, DriveGoal.CutPower, None, AxisDeadline.PowerOff),
        new(AxisNode.Ready, Category0, PoweringOff, DriveGoal.CutPower, None, AxisDeadline.PowerOff),
        new(Running, Category0, PoweringOff, DriveGoal.CutPower, Replace, AxisDeadline.PowerOff),
        new(Halting, Category0, PoweringOff, DriveGoal.CutPower, None, AxisDeadline.PowerOff),
        new(StoppingToOff, Category0, PoweringOff, DriveGoal.CutPower, None, AxisDeadline.PowerOff),
        new(BrakeClosing, Category0, PoweringOff, DriveGoal.CutPower, None, AxisDeadline.PowerOff),
        new(PoweringOff, Category0, PoweringOff, DriveGoal.CutPower, None, AxisDeadline.Keep),
        new(FaultStopping, Category0, FaultPoweringOff, DriveGoal.CutPower, None, AxisDeadline.PowerOff),
        new(FaultBrakeClosing, Category0, FaultPoweringOff, DriveGoal.CutPower, None, AxisDeadline.PowerOff),
        new(FaultPoweringOff, Category0, FaultPoweringOff, DriveGoal.CutPower, None, AxisDeadline.Keep),

        // What must end in time and does not is a fault; a stop that fails costs the torque.
        new(Energising, DeadlinePassed, FaultPoweringOff, DriveGoal.CutPower, Latch, AxisDeadline.PowerOff),
        new(Energising, GoalFailed, FaultPoweringOff, DriveGoal.CutPower, Latch, AxisDeadline.PowerOff),
        new(HomeEnergising, DeadlinePassed, FaultPoweringOff, DriveGoal.CutPower, Latch, AxisDeadline.PowerOff),
        new(HomeEnergising, GoalFailed, FaultPoweringOff, DriveGoal.CutPower, Latch, AxisDeadline.PowerOff),
        new(Halting, DeadlinePassed, FaultPoweringOff, DriveGoal.CutPower, Latch, AxisDeadline.PowerOff),
        new(HomeStopping, DeadlinePassed, FaultPoweringOff, DriveGoal.CutPower, Latch, AxisDeadline.PowerOff),
        new(StoppingToOff, DeadlinePassed, FaultPoweringOff, DriveGoal.CutPower, Latch, AxisDeadline.PowerOff),
        new(PoweringOff, DeadlinePassed, FaultPoweringOff, DriveGoal.CutPower, Latch, AxisDeadline.PowerOff),

        // A fault from anywhere: quick stop, brake, torque off, and there it stays until a reset.
        .. FaultFrom(Connecting, Off, Energising, BrakeReleasing, HomeEnergising, HomeBrakeReleasing, Searching, HomeStopping,
            AxisNode.Ready, Running, Jogging, Halting, StoppingToOff, BrakeClosing, FaultClearing, ProofBrakeClosing, ProvingBrake, ProofBrakeReleasing),

        // Where power is already being taken, a fault must not turn that into a slower stop.
        new(PoweringOff, FaultSeen, FaultPoweringOff, DriveGoal.None, Latch, AxisDeadline.PowerOff),
        new(FaultStopping, AtRest, FaultBrakeClosing, DriveGoal.None, None, AxisDeadline.BrakeClose),
        new(FaultStopping, DeadlinePassed, FaultPoweringOff, DriveGoal.CutPower, Report, AxisDeadline.PowerOff),
        new(FaultStopping, TorqueOff, FaultOff, DriveGoal.PowerOff, Done, AxisDeadline.None),
        new(FaultBrakeClosing, DeadlinePassed, FaultPoweringOff, DriveGoal.PowerOff, None, AxisDeadline.PowerOff),
        new(FaultBrakeClosing, TorqueOff, FaultOff, DriveGoal.PowerOff, Done, AxisDeadline.None),
        new(FaultPoweringOff, DeadlinePassed, FaultPoweringOff, DriveGoal.CutPower, Fail | Report, AxisDeadline.None),
        new(FaultPoweringOff, TorqueOff, FaultOff, DriveGoal.PowerOff, Done, AxisDeadline.None),
        new(FaultOff, ResetGiven, FaultClearing, DriveGoal.ClearFault, Take, AxisDeadline.Clear),
        new(FaultClearing, GoalReached, Off, DriveGoal.PowerOff, Done | Unlatch, AxisDeadline.None),
        new(FaultClearing, DeadlinePassed, FaultOff, DriveGoal.PowerOff, Fail, AxisDeadline.None),

        // A load on a brake that failed its proof is held by the motor, which leaves off pushing and stands where it is, and by what friction the
        // brake still has. Only a person who supports it, an interlock that takes torque anyway, or the drive itself ends that.
        new(FaultHolding, SupportGiven, FaultBrakeClosing, DriveGoal.Hold, Take, AxisDeadline.BrakeClose),
        new(FaultHolding, Category1, FaultStopping, DriveGoal.QuickStop, None, AxisDeadline.Stop),
        new(FaultHolding, Category0, FaultPoweringOff, DriveGoal.CutPower, None, AxisDeadline.PowerOff),
        new(FaultHolding, TorqueOff, FaultOff, DriveGoal.PowerOff, Report, AxisDeadline.None),
        new(FaultHolding, Contacted, FaultHolding, DriveGoal.Stand, None, AxisDeadline.None),

        // Met again after a silence: what it may still do is stopped first.
        .. new[] { FaultStopping, FaultBrakeClosing, FaultPoweringOff, FaultOff }.Select(node =>
            new AxisRow(node, Contacted, FaultStopping, DriveGoal.QuickStop, None, AxisDeadline.Stop)),

        // Nothing moves here: a stop changes nothing, a second fault does not push out the first.
        .. Unmoved(Connecting, StopRequested, Category0, Category1, Category2),
        .. Unmoved(Off, StopRequested, Category0, Category1, Category2),
        .. Unmoved(FaultStopping, StopRequested, Category1, Category2, FaultSeen),
        .. Unmoved(FaultBrakeClosing, StopRequested, Category1, Category2, FaultSeen),
        .. Unmoved(FaultHolding, StopRequested, Category2, FaultSeen),
        .. Unmoved(FaultPoweringOff, StopRequested, Category1, Category2, FaultSeen),
        .. Unmoved(FaultOff, StopRequested, Category0, Category1, Category2, FaultSeen),
        .. Unmoved(FaultClearing, StopRequested, Category0, Category1, Category2),
    ];

    static AxisTable()
    {
        foreach (var row in Rows)
        {
            ref var cell = ref Index[((int)row.From * 32) + (int)row.On];
            if (cell is not null)
            {
                throw new InvalidOperationException($"Two rows for {row.From} on {row.On}");
            }

            cell = row;
        }
    }

    /// <summary>True when the node has a row for the event.</summary>
    public static bool Awaits(AxisNode node, AxisEvent on) => Index[((int)node * 32) + (int)on] is not null;

    /// <summary>The row for an event.</summary>
    /// <exception cref="InvalidOperationException">There is none: a bug of the caller.</exception>
    public static AxisRow Row(AxisNode node, AxisEvent on) =>
        Index[((int)node * 32) + (int)on] ?? throw new InvalidOperationException($"No transition from {node} on {on}");

    // Goal "keep" is told by None: a goal under way goes on.
    private static IEnumerable<AxisRow> Unmoved(AxisNode node, params AxisEvent[] events) =>
        events.Select(on => new AxisRow(node, on, node, DriveGoal.None, None, AxisDeadline.Keep));

    private static IEnumerable<AxisRow> BrokenOff(AxisNode node) =>
    [
        new(node, StopRequested, BrakeClosing, DriveGoal.Halt, Replace, AxisDeadline.BrakeClose),
        new(node, Category2, BrakeClosing, DriveGoal.Halt, Replace, AxisDeadline.BrakeClose),
        new(node, Category1, BrakeClosing, DriveGoal.Halt, Replace, AxisDeadline.BrakeClose),
        new(node, Category0, PoweringOff, DriveGoal.CutPower, Replace, AxisDeadline.PowerOff),
        new(node, DisableGiven, BrakeClosing, DriveGoal.Halt, Replace | Take, AxisDeadline.BrakeClose),
    ];

    private static IEnumerable<AxisRow> FaultFrom(params AxisNode[] nodes) =>
        nodes.Select(node => new AxisRow(node, FaultSeen, FaultStopping, DriveGoal.QuickStop, Latch, AxisDeadline.Stop));
}

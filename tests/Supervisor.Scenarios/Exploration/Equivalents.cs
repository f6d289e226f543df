using Supervisor.Drives.Coding;
using Supervisor.Runtime.Axes;

namespace Supervisor.Scenarios.Exploration;

/// <summary>A reason for which a mutant may be the same to everybody; that it is the same, the lockstep has proven.</summary>
/// <param name="Why">The reason.</param>
/// <param name="Holds">True for a row and its mutant that it speaks of.</param>
internal sealed record Equivalent(string Why, Func<AxisRow, AxisRow, bool> Holds)
{
    /// <summary>All of them. Each is in use, and every mutant that nobody can tell from its row has one.</summary>
    public static IReadOnlyList<Equivalent> All { get; } =
    [
        new("the drive is off: switching off, cutting and clearing tell it the same words, and whatever else it may be told asks for torque as little",
            (row, by) => OnlyGoal(row, by) && (row.To is AxisNode.Off or AxisNode.FaultOff || row is { From: AxisNode.FaultOff, On: AxisEvent.Contacted })
                && by.Goal is DriveGoal.None or DriveGoal.PowerOff or DriveGoal.CutPower or DriveGoal.ClearFault or DriveGoal.Hold),
        new("torque went off: clearing ends in the very feedback that began it",
            (row, by) => row.On == AxisEvent.TorqueOff && by == row with { To = AxisNode.FaultClearing }),
        new("the goal is under way already: taking it up anew, or not, leaves the words as they are",
            (row, by) => OnlyGoal(row, by) && (row.Goal == DriveGoal.None || by.Goal == DriveGoal.None) && StopsOrHolds(row.Goal, by.Goal)),
        new("torque is on: energising and holding tell the drive to stay enabled",
            (row, by) => OnlyGoal(row, by) && row.Goal == DriveGoal.Hold && by.Goal == DriveGoal.Energise),
        new("a held load's motor stands already: going on with that and holding leave the words as they are",
            (row, by) => OnlyGoal(row, by) && row is { From: AxisNode.FaultHolding, Goal: DriveGoal.Hold } && by.Goal == DriveGoal.Stand),
        new("no deadline runs where the row leads from: keeping none is having none",
            (row, by) => by == row with { Deadline = by.Deadline } && row.Deadline is AxisDeadline.None or AxisDeadline.Keep && by.Deadline is AxisDeadline.None or AxisDeadline.Keep),
        new("a drive that is met as another is stopped by the contact that ends in the same moment",
            (row, _) => row is { From: AxisNode.Connecting, On: AxisEvent.FaultSeen }),
        new("a halted axis has nothing in hand: its command ended with the halt",
            (row, by) => row.From == AxisNode.Halting && row with { Effects = by.Effects } == by && (row.Effects & ~by.Effects) is AxisEffects.Replace or AxisEffects.Done),
        new("clearing a fault: its edge goes on, a stop takes nothing back",
            (row, by) => OnlyGoal(row, by) && row is { From: AxisNode.FaultClearing, Goal: DriveGoal.None } && by.Goal == DriveGoal.ClearFault),
    ];

    private static bool OnlyGoal(AxisRow row, AxisRow by) => by == row with { Goal = by.Goal };

    private static bool StopsOrHolds(DriveGoal one, DriveGoal other) =>
        (one == DriveGoal.None ? other : one) is DriveGoal.QuickStop or DriveGoal.Halt or DriveGoal.Hold or DriveGoal.PowerOff;
}

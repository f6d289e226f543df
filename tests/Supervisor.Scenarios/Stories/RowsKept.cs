using Supervisor.Drives.Coding;
using Supervisor.Runtime.Axes;

namespace Supervisor.Scenarios.Stories;

/// <summary>
/// Whether an axis did what the row says that it took: it begins where the row before it ended, as nothing else writes the node, it is where
/// the row leads, brings its drive to what the row says, and waits for a deadline or for none.
/// </summary>
internal sealed class RowsKept(int axes)
{
    private readonly AxisNode?[] _nodes = new AxisNode?[axes];

    /// <summary>A supervisor starts: its axes are new.</summary>
    public void Begin() => Array.Clear(_nodes);

    /// <summary>What was not kept; null when all was.</summary>
    public string? Take(Axis axis, in AxisRow row)
    {
        var before = _nodes[axis.Index];
        _nodes[axis.Index] = row.To;
        return before is { } known && known != row.From ? $"{row.From} {row.On}: the row before led to {known}"
            : axis.Node != row.To ? $"{row.From} {row.On}: the axis is in {axis.Node}, not in {row.To}"
            : !IsGoalKept(axis.Goal, row) ? $"{row.From} {row.On}: the drive is brought to {axis.Goal}, not to {row.Goal}"
            : !IsDeadlineKept(axis.Deadline, row) ? $"{row.From} {row.On}: {(axis.Deadline == TimeSpan.MaxValue ? "no" : "a")} deadline runs, not {row.Deadline}"
            : null;
    }

    /// <summary>A search that is supervised here begins with a move of its own.</summary>
    private static bool IsGoalKept(DriveGoal goal, in AxisRow row) =>
        row.Goal == DriveGoal.None || goal == row.Goal || (row.Goal == DriveGoal.Home && goal == DriveGoal.Move);

    /// <summary>A move without end has no time-out.</summary>
    private static bool IsDeadlineKept(TimeSpan deadline, in AxisRow row) => row.Deadline switch
    {
        AxisDeadline.Keep or AxisDeadline.Move => true,
        AxisDeadline.None => deadline == TimeSpan.MaxValue,
        _ => deadline < TimeSpan.MaxValue,
    };
}

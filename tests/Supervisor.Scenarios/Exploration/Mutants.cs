using Supervisor.Drives.Coding;
using Supervisor.Runtime.Axes;

namespace Supervisor.Scenarios.Exploration;

/// <summary>A row changed in one place, or gone.</summary>
/// <param name="Row">Its number in the table.</param>
/// <param name="By">What stands in its place; null when it is removed.</param>
/// <param name="What">The change in words.</param>
internal sealed record Mutant(int Row, AxisRow? By, string What)
{
    /// <summary>Everything that one slip of the pen can do to the rows.</summary>
    public static IEnumerable<Mutant> All(IReadOnlyList<AxisRow> rows)
    {
        var nodes = rows.SelectMany(row => new[] { row.From, row.To }).Distinct().Order().ToArray();
        for (var number = 0; number < rows.Count; number++)
        {
            foreach (var mutant in Of(number, rows[number], nodes))
            {
                yield return mutant;
            }
        }
    }

    private static IEnumerable<Mutant> Of(int number, AxisRow row, AxisNode[] nodes)
    {
        var name = $"{row.From} on {row.On}";
        yield return new Mutant(number, null, $"{name}: removed");
        foreach (var node in nodes.Where(node => node != row.To))
        {
            yield return new Mutant(number, row with { To = node }, $"{name}: to {node} instead of {row.To}");
        }

        foreach (var goal in Enum.GetValues<DriveGoal>().Where(goal => goal != row.Goal))
        {
            yield return new Mutant(number, row with { Goal = goal }, $"{name}: goal {goal} instead of {row.Goal}");
        }

        foreach (var effect in Enum.GetValues<AxisEffects>().Where(effect => effect != AxisEffects.None && (row.Effects & effect) != 0))
        {
            yield return new Mutant(number, row with { Effects = row.Effects & ~effect }, $"{name}: without {effect}");
        }

        foreach (var deadline in new[] { AxisDeadline.None, AxisDeadline.Keep }.Where(deadline => deadline != row.Deadline))
        {
            yield return new Mutant(number, row with { Deadline = deadline }, $"{name}: deadline {deadline} instead of {row.Deadline}");
        }
    }
}

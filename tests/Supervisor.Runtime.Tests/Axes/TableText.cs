using System.Text;
using Supervisor.Drives.Coding;
using Supervisor.Records.Axes;
using Supervisor.Runtime.Axes;

namespace Supervisor.Runtime.Tests.Axes;

/// <summary>The axis table in the pictures and words of a document.</summary>
internal static class TableText
{
    private static readonly AxisNode[] Nodes = [.. AxisTable.Rows.SelectMany(row => new[] { row.From, row.To }).Distinct()];

    /// <summary>The five states that people see, and what leads from one to another.</summary>
    public static string Overview()
    {
        var text = new StringBuilder("```mermaid\nstateDiagram-v2\n    [*] --> Disabled\n");
        var ways = AxisTable.Rows.Where(row => row.From.State() != row.To.State()).GroupBy(row => (From: row.From.State(), To: row.To.State()));
        foreach (var way in ways.OrderBy(way => way.Key))
        {
            text.Append($"    {way.Key.From} --> {way.Key.To} : {string.Join(", ", way.Select(Words).Distinct())}\n");
        }

        return text.Append("```").ToString();
    }

    /// <summary>The nodes inside the states, without what would lead from everywhere to the same: <see cref="IsDrawn"/>.</summary>
    public static string Diagram()
    {
        var text = new StringBuilder("```mermaid\nstateDiagram-v2\n");
        foreach (var state in Nodes.GroupBy(node => node.State()).OrderBy(state => state.Key))
        {
            text.Append($"    state {state.Key} {{\n");
            foreach (var node in state)
            {
                text.Append($"        node{node} : {Spoken(node.ToString())}\n");
            }

            text.Append("    }\n");
        }

        text.Append($"    [*] --> node{AxisNode.Connecting}\n");
        foreach (var way in AxisTable.Rows.Where(IsDrawn).GroupBy(row => (row.From, row.To)))
        {
            text.Append($"    node{way.Key.From} --> node{way.Key.To} : {string.Join(", ", way.Select(Words))}\n");
        }

        return text.Append("```").ToString();
    }

    /// <summary>Every row, gathered by node: what leads where, and what the drive is brought to on the way.</summary>
    public static string Table()
    {
        var text = new StringBuilder("| node | shows | waits for | on → to (the drive) |\n|---|---|---|---|\n");
        foreach (var node in Nodes)
        {
            var ways = AxisTable.Rows.Where(row => row.From == node)
                .GroupBy(row => (row.To, row.Goal))
                .Select(way => $"{string.Join(", ", way.Select(Words))} → {(way.Key.To == node ? "stays" : Spoken(way.Key.To.ToString()))}{Drive(way.Key.Goal)}");
            text.Append($"| {Spoken(node.ToString())} | {Shows(node)} | {Deadlines(node)} | {string.Join("; ", ways)} |\n");
        }

        return text.ToString();
    }

    /// <summary>Faults and category 0 lead from everywhere to the same few nodes, and a picture of that hides all else: they are in the overview and the table.</summary>
    private static bool IsDrawn(AxisRow row) => row.From != row.To && row.On is not (AxisEvent.FaultSeen or AxisEvent.Category0);

    private static string Shows(AxisNode node) =>
        node.Detail() == AxisDetail.None ? node.State().ToString() : $"{node.State()}, {Spoken(node.Detail().ToString())}";

    private static string Deadlines(AxisNode node) => string.Join(
        ", ", AxisTable.Rows.Where(row => row.To == node && row.Deadline is not (AxisDeadline.None or AxisDeadline.Keep)).Select(row => Spoken(row.Deadline.ToString())).Distinct());

    private static string Drive(DriveGoal goal) => goal == DriveGoal.None ? "" : $" ({Spoken(goal.ToString())})";

    private static string Words(AxisRow row) => row.On == AxisEvent.DeadlinePassed ? $"{Deadlines(row.From)} time over" : Spoken(row.On.ToString());

    // StoppingToOff is read as "stopping to off", Category0 as "category 0".
    private static string Spoken(string name)
    {
        var text = new StringBuilder();
        for (var i = 0; i < name.Length; i++)
        {
            if (i > 0 && (char.IsUpper(name[i]) || (char.IsDigit(name[i]) && !char.IsDigit(name[i - 1]))))
            {
                text.Append(' ');
            }

            text.Append(char.ToLowerInvariant(name[i]));
        }

        return text.ToString();
    }
}

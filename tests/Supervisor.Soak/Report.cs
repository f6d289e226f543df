using Supervisor.Runtime.Axes;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Soak;

/// <summary>Tells what a run simulated, injected, visited, checked and found.</summary>
internal static class Report
{
    private const string Row = "row ";

    public static void Write(TextWriter to, Arguments arguments, StoryRun soak, TimeSpan took)
    {
        to.WriteLine($"seed {arguments.Seed}, {arguments.Axes} axes: {soak.Simulated.TotalHours:0.00} h simulated in {took.TotalSeconds:0.0} s: {soak.Simulated / took:0} x real time, {soak.Tally["exchanges"]} exchanges");
        to.WriteLine("happened:");
        foreach (var (name, count) in soak.Tally.All.Where(entry => !entry.Key.StartsWith(Row, StringComparison.Ordinal) && entry.Key != "exchanges"))
        {
            to.WriteLine($"  {count,9} {name}");
        }

        to.WriteLine("looked:");
        foreach (var (name, count) in soak.Looks.All)
        {
            to.WriteLine($"  {count,9} {name}");
        }

        WriteRows(to, soak.Tally);
        to.WriteLine(soak.Found.Count == 0 ? "found: nothing" : $"found: {soak.Found.Count}");
        foreach (var report in soak.Found)
        {
            to.WriteLine($"  {report}");
            if (arguments.Hours <= StoryRun.StoryLength.TotalHours)
            {
                // One story is told to understand it: with what came before the finding.
                foreach (var line in report.Before)
                {
                    to.WriteLine($"    {line}");
                }
            }
        }
    }

    private static void WriteRows(TextWriter to, Tally tally)
    {
        var visited = AxisTable.Rows.Where(row => tally[Name(row)] > 0).ToArray();
        var states = visited.SelectMany(row => new[] { row.From, row.To }).Distinct().Count();
        to.WriteLine($"visited: {states} of {Enum.GetValues<AxisNode>().Length} states, {visited.Length} of {AxisTable.Rows.Count} transitions");
        foreach (var row in visited)
        {
            to.WriteLine($"  {tally[Name(row)],9} {row.From} {row.On} -> {row.To}");
        }

        to.WriteLine("not visited:");
        foreach (var row in AxisTable.Rows.Except(visited))
        {
            to.WriteLine($"  {row.From} {row.On} -> {row.To}");
        }
    }

    private static string Name(in AxisRow row) => $"{Row}{row.From} {row.On}";
}

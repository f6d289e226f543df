using Supervisor.Runtime.Axes;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Exploration;

/// <summary>
/// The composition is no fiction: what real axes did on simulated drives, in stories with all that befalls a machine, is what the
/// exploration reached. A row that only a real axis takes is one that no invariant was ever judged on.
/// </summary>
public sealed class RealRunTests
{
    private static readonly ulong[] Seeds = [2001, 2002, 2003, 2004, 2005, 2006];

    [Fact]
    public void Rows_TakenByRealAxesInStories_WereReachedByTheExploration()
    {
        var (taken, wrong) = TakenInStories();
        var explorer = new Explorer(TableUnderTest.Real(), new CodedGoals());
        Assert.Null(explorer.Run());
        var reached = AxisTable.Rows.Where((_, row) => explorer.UsesOf(row).Count > 0).Select(Name).ToHashSet();
        TestContext.Current.TestOutputHelper!.WriteLine($"{taken.Count} of {AxisTable.Rows.Count} rows taken by real axes, {reached.Count} reached by the exploration");
        Assert.Empty(taken.Keys.Where(row => !reached.Contains(row)).Order());

        // And each row was kept: what the exploration judged is what the axis and its drive were brought to.
        Assert.Empty(wrong.Order());

        // Enough happened for that to say something.
        Assert.True(taken.Count > AxisTable.Rows.Count / 3, $"seeds {string.Join(", ", Seeds)}: only {taken.Count} rows were taken");
        Assert.True(taken.Values.Sum() > 5_000);
    }

    private static (Dictionary<string, long> Taken, List<string> NotKept) TakenInStories()
    {
        var taken = new Dictionary<string, long>();
        var wrong = new List<string>();
        foreach (var seed in Seeds)
        {
            var run = new StoryRun(seed, axes: 4);
            run.Run(StoryRun.StoryLength, mostFindings: 1);
            foreach (var (name, times) in run.Tally.All.Where(entry => entry.Key.StartsWith("row ", StringComparison.Ordinal)))
            {
                taken[name] = taken.GetValueOrDefault(name) + times;
            }

            wrong.AddRange(run.Tally.All.Where(entry => entry.Key.StartsWith("not kept", StringComparison.Ordinal)).Select(entry => $"seed {seed}: {entry.Key}, {entry.Value} times"));
        }

        return (taken, wrong);
    }

    /// <summary>As <see cref="StoryWorld"/> counts it.</summary>
    private static string Name(AxisRow row) => $"row {row.From} {row.On}";
}

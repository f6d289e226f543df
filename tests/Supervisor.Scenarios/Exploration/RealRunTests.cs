using Supervisor.Drives.Coding;
using Supervisor.Runtime.Axes;
using Supervisor.Scenarios.Checks;
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
        var reached = Reached(TableUnderTest.Real(), out var violation);
        Assert.Null(violation);
        TestContext.Current.TestOutputHelper!.WriteLine($"{taken.Count} of {AxisTable.Rows.Count} rows taken by real axes, {reached.Count} reached by the exploration");
        Assert.Empty(NotReached(taken, reached));

        // And each row was kept: what the exploration judged is what the axis and its drive were brought to.
        Assert.Empty(wrong.Order());

        // Enough happened for that to say something.
        Assert.True(taken.Count > AxisTable.Rows.Count / 3, $"seeds {string.Join(", ", Seeds)}: only {taken.Count} rows were taken");
        Assert.True(taken.Values.Sum() > 5_000);
    }

    [Fact]
    public void PlantedBug_ARowThatTheExplorationNeverReaches_IsFound()
    {
        var table = TableUnderTest.Real();
        table.Replace(table.Find(AxisNode.Running, AxisEvent.StopRequested), null);
        var (taken, _) = Taken(Seeds[0], TimeSpan.FromMinutes(5));
        Assert.Contains($"row {AxisNode.Running} {AxisEvent.StopRequested}", NotReached(taken, Reached(table, out _)));
    }

    /// <summary>Real axes judged by a table with one slip of the pen: as if they did not do what their row says.</summary>
    [Theory]
    [InlineData("node")]
    [InlineData("goal")]
    [InlineData("deadline")]
    public void PlantedBug_AnAxisThatDoesNotKeepItsRow_IsFound(string slip)
    {
        var (_, wrong) = Taken(Seeds[0], TimeSpan.FromMinutes(5), row => (row.From, row.On) != (AxisNode.Running, AxisEvent.Arrived) ? row : slip switch
        {
            "node" => row with { To = AxisNode.Halting },
            "goal" => row with { Goal = DriveGoal.PowerOff },
            _ => row with { Deadline = AxisDeadline.Stop },
        });
        Assert.Contains(wrong, found => found.Contains($"{AxisNode.Running} {AxisEvent.Arrived}", StringComparison.Ordinal));
    }

    private static HashSet<string> Reached(TableUnderTest table, out string? violation)
    {
        var explorer = new Explorer(table, new CodedGoals());
        violation = explorer.Run();
        return [.. AxisTable.Rows.Where((_, row) => explorer.UsesOf(row).Count > 0).Select(Name)];
    }

    private static IEnumerable<string> NotReached(Dictionary<string, long> taken, HashSet<string> reached) => taken.Keys.Where(row => !reached.Contains(row)).Order();

    private static (Dictionary<string, long> Taken, List<string> NotKept) TakenInStories()
    {
        var all = new Dictionary<string, long>();
        var wrong = new List<string>();
        foreach (var seed in Seeds)
        {
            var (taken, notKept) = Taken(seed, StoryRun.StoryLength);
            wrong.AddRange(notKept);
            foreach (var (name, times) in taken)
            {
                all[name] = all.GetValueOrDefault(name) + times;
            }
        }

        return (all, wrong);
    }

    /// <param name="seed">The story.</param>
    /// <param name="length">Its length.</param>
    /// <param name="plant">What the judge takes a row for; null: for what it is.</param>
    private static (Dictionary<string, long> Taken, List<string> NotKept) Taken(ulong seed, TimeSpan length, Func<AxisRow, AxisRow>? plant = null)
    {
        var tally = new Tally();
        var story = new Scenarios.Stories.Story(new StoryOptions(seed, length, Axes: 4), tally);
        story.World.PlantedRow = plant;
        story.Run();
        var taken = tally.All.Where(entry => entry.Key.StartsWith("row ", StringComparison.Ordinal)).ToDictionary(entry => entry.Key, entry => entry.Value);
        return (taken, [.. tally.All.Where(entry => entry.Key.StartsWith("not kept", StringComparison.Ordinal)).Select(entry => $"seed {seed}: {entry.Key}, {entry.Value} times")]);
    }

    /// <summary>As <see cref="StoryWorld"/> counts it.</summary>
    private static string Name(AxisRow row) => $"row {row.From} {row.On}";
}

using Supervisor.History.Entries;
using Supervisor.Scenarios.Checks;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Stories;

/// <summary>A commit that is stored and told as failed is repeated: with the very record that is on the disk by then.</summary>
public sealed class HistoryDoubtTests
{
    [Fact]
    public void Start_FirstOfItsDiskStoredAndToldAsFailed_IsRepeatedAsItWas()
    {
        var world = new StoryWorld(Machines.TwoPorts(), seed: 1, new Tally());
        world.Checkers = [new HistoryKept(world)];
        world.Disk.DoubtfulCommits = 1;
        var clashes = new List<long>();
        world.Disk.Clashed = clashes.Add;

        world.Start();
        world.Queue.RunUntil(world.Queue.Now + TimeSpan.FromSeconds(3));
        Assert.True(world.Disk.Failures > 1, "the start was tried but once");
        world.Disk.DoubtfulCommits = 0;
        world.Queue.RunUntil(world.Queue.Now + TimeSpan.FromSeconds(3));

        Assert.Empty(clashes);
        Assert.Empty(world.Findings);
        Assert.Equal(PreviousEnd.Unknown, Assert.IsType<StartRecord>(world.Disk.Row(1)).PreviousEnd);
        Assert.True(world.History!.Health.Good);
    }
}

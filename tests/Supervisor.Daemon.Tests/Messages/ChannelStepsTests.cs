using Supervisor.Daemon.Messages;
using Supervisor.History.Entries;
using Supervisor.History.Outbox;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Tests.Messages;

/// <summary>A channel through every trouble: one message an incident, none lost, none above what an hour may bring.</summary>
public sealed class ChannelStepsTests
{
    private static readonly TimeSpan Minute = TimeSpan.FromMinutes(1), Hour = TimeSpan.FromHours(1);

    [Fact]
    public void Step_NetworkDownForAnHour_TellsEachIncidentOnce()
    {
        var world = new ChannelWorld(1) { IsNetworkDown = true };
        for (var i = 0; i < 8; i++)
        {
            world.Happens($"fault {i} dibber");
            world.Run(7 * Minute);
        }

        Assert.Equal(8, world.Status.Waiting);
        Assert.True(world.Status.FailingFor > 50 * Minute);
        Assert.Equal("no route to host.", world.Status.Problem);
        Assert.Equal([NoticeKind.MessagesHeldUp], world.Notices.Select(notice => notice.Kind));
        world.Run(4 * Minute);
        world.IsNetworkDown = false;
        world.Run(10 * Minute);

        Assert.Null(world.Judge());
        Assert.Equal(8, world.Taken.Count);
        Assert.Equal([NoticeKind.MessagesHeldUp, NoticeKind.MessagesThrough], world.Notices.Select(notice => notice.Kind));
        Assert.Equal((0, "", null), (world.Status.Waiting, world.Status.Problem, world.Status.FailingFor));

        // Some 24 attempts an hour at most, whatever waits.
        Assert.InRange(world.Attempts, 8, 40);
    }

    [Fact]
    public void Step_AnotherStormThanAnHourMayBring_TellsTheRestTogether()
    {
        var world = new ChannelWorld(2, perHour: 4);
        for (var i = 0; i < 60; i++)
        {
            world.Happens($"fault {i} dibber", i == 50 ? FaultPriority.High : FaultPriority.Low);
            world.Run(TimeSpan.FromSeconds(10));
        }

        world.Run(3 * Hour);

        Assert.Null(world.Judge());
        Assert.Contains(world.Rows, row => row is { Kind: OutboxKind.Summary, State: OutboxState.Sent });
        Assert.InRange(world.Taken.Count, 4, 8);
    }

    /// <summary>What repeats itself leaves half of the hour to what is new.</summary>
    [Fact]
    public void Step_SameCauseAgainAndAgain_LeavesRoomForANewOne()
    {
        var world = new ChannelWorld(3, perHour: 6);
        for (var i = 0; i < 40; i++)
        {
            world.Happens("fault 1 dibber");
            world.Run(TimeSpan.FromSeconds(20));
        }

        var other = world.Happens("fault 2 gantry");
        world.Run(2 * Minute);
        Assert.Contains(world.Taken, taken => ChannelWorld.Tells(taken.Body, other) && !taken.Body.StartsWith("summary", StringComparison.Ordinal));
        world.Run(3 * Hour);

        Assert.Null(world.Judge());
    }

    [Fact]
    public void Step_GraveOneAmongMany_GoesFirst()
    {
        var world = new ChannelWorld(4) { IsNetworkDown = true };
        for (var i = 0; i < 5; i++)
        {
            world.Happens($"fault {i} dibber", i == 3 ? FaultPriority.High : FaultPriority.Low);
        }

        world.Run(Minute);
        world.IsNetworkDown = false;
        world.Run(10 * Minute);

        // The first was on its way already.
        Assert.Null(world.Judge());
        Assert.True(world.Taken.FindIndex(taken => ChannelWorld.Tells(taken.Body, 12)) <= 1);
    }

    [Fact]
    public void Step_BelowLeastPriorityOrOutOfService_IsNotTold()
    {
        var world = new ChannelWorld(5, least: FaultPriority.Medium);
        world.Happens(priority: FaultPriority.Low);
        world.Happens(priority: FaultPriority.Medium);
        world.Happens(priority: FaultPriority.High, isSilent: true);
        world.Run(5 * Minute);

        Assert.Null(world.Judge());
        Assert.Single(world.Taken);
    }

    [Fact]
    public void Step_ServerAsksToBeLeftAlone_IsLeftAlone()
    {
        var world = new ChannelWorld(6) { Busy = 40 * Minute };
        world.Happens();
        world.Run(30 * Minute);
        Assert.Equal(1, world.Attempts);
        world.Busy = null;
        world.Run(20 * Minute);

        Assert.Null(world.Judge());
        Assert.Equal(2, world.Attempts);
    }

    [Fact]
    public void Step_Refused_IsGivenUpAndToldOnce()
    {
        var world = new ChannelWorld(7) { Refuses = true };
        world.Happens("fault 1 dibber");
        world.Run(10 * Minute);
        world.Happens("fault 2 dibber");
        world.Run(10 * Minute);

        Assert.Equal(2, world.Attempts);
        Assert.All(world.Rows, row => Assert.Equal((OutboxState.Refused, "HTTP 404."), (row.State, row.Answer)));
        Assert.Equal([NoticeKind.MessageGivenUp], world.Notices.Select(notice => notice.Kind));
        Assert.Equal(2, world.Status.GivenUp);
    }

    [Fact]
    public void Step_TellsEnd_AfterItIsBack()
    {
        var world = new ChannelWorld(8, tellsEnd: true);
        var first = world.Happens("fault 1 dibber");
        world.Run(Minute);
        Assert.Single(world.Taken);
        world.Kill();
        world.Run(Minute);
        world.ComesBack(first);
        world.Run(Minute);
        Assert.Equal($"over ##{first}", world.Taken[^1].Body[..$"over ##{first}".Length]);
        Assert.Equal(MessageIdentity.OfEnd(world.Taken[0].Identity), world.Taken[^1].Identity);

        // One that is over before it could be told says so itself.
        world.IsNetworkDown = true;
        world.Happens("fault 3 dibber");
        var second = world.Happens("fault 2 dibber");
        world.Run(Minute);
        world.ComesBack(second);
        world.Run(Minute);
        world.IsNetworkDown = false;
        world.Run(20 * Minute);
        world.Kill();
        world.Run(20 * Minute);

        Assert.Null(world.Judge());
        Assert.Equal(4, world.Taken.Count);
    }

    [Fact]
    public void Step_MoreThanMayWait_TakesThemInAsThereIsRoom()
    {
        var world = new ChannelWorld(9) { IsNetworkDown = true };
        for (var i = 0; i < ChannelSteps.MostWaiting + 500; i++)
        {
            world.Happens($"fault {i % 7} dibber");
        }

        world.Run(30 * Minute);
        Assert.InRange(world.Status.Waiting, ChannelSteps.MostWaiting, ChannelSteps.MostWaiting + 20);
        world.IsNetworkDown = false;
        world.Run(4 * Hour, TimeSpan.FromSeconds(5));

        Assert.Null(world.Judge());
    }

    /// <summary>Hours of a network that comes and goes and breaks in the midst, and of processes killed at any instant.</summary>
    [Theory]
    [InlineData(101)]
    [InlineData(102)]
    [InlineData(103)]
    [InlineData(104)]
    [InlineData(105)]
    [InlineData(106)]
    [InlineData(107)]
    [InlineData(108)]
    public void Step_ThroughEverything_TellsEachIncidentByOneIdentity(int seed)
    {
        var world = Troubled(seed, _ => { });

        Assert.Null(world.Judge());
        Assert.True(world.Attempts > world.Taken.Count, "nothing went wrong: nothing was tried");
    }

    [Fact]
    public void Judge_PlantedBugs_AreFound()
    {
        Assert.NotNull(Troubled(101, world => world.ForgetsSent = true).Judge());
        Assert.NotNull(Troubled(101, world => world.DropsOneIn = 5).Judge());
    }

    private static ChannelWorld Troubled(int seed, Action<ChannelWorld> plant)
    {
        TestContext.Current.TestOutputHelper?.WriteLine($"seed {seed}");
        var draw = new Random(seed);
        var world = new ChannelWorld(seed, perHour: 20, tellsEnd: seed % 2 == 0) { BreaksAfter = 0.2, UnheardCommits = 0.5 };
        plant(world);
        for (var i = 0; i < 200; i++)
        {
            world.Run(TimeSpan.FromSeconds(draw.Next(1, 120)));
            switch (draw.Next(0, 8))
            {
                case 0 or 1:
                    world.Happens($"fault {draw.Next(0, 30)} dibber", (FaultPriority)draw.Next(1, 4));
                    break;
                case 2 or 3:
                    world.IsNetworkDown = !world.IsNetworkDown;
                    break;
                case 4:
                    world.Busy = world.Busy is null ? TimeSpan.FromMinutes(draw.Next(1, 20)) : null;
                    break;
                case 5 or 6:
                    world.Kill(restartsBoard: draw.Next(0, 3) == 0);
                    break;
                default:
                    break;
            }
        }

        (world.IsNetworkDown, world.Busy, world.BreaksAfter) = (false, null, 0);
        world.Run(TimeSpan.FromHours(12), TimeSpan.FromSeconds(3));
        return world;
    }
}

using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Stops;
using Supervisor.Runtime.Tests.Support;

namespace Supervisor.Runtime.Tests.Stops;

public sealed class StopLatchTests
{
    [Fact]
    public void Trip_StandsUntilReset()
    {
        var latch = new StopLatch(3, 1);
        Assert.Equal(0UL, latch.Standing());
        var before = latch.Generation;
        latch.Trip(1);
        Assert.NotEqual(before, latch.Generation);
        Assert.True(latch.IsStanding(1));
        Assert.Equal(0b010UL, latch.Standing());
        latch.Reset(1, latch.TripCount(1));
        Assert.Equal(0UL, latch.Standing());
    }

    [Fact]
    public void Trip_BetweenTheLookAndTheReset_SurvivesIt()
    {
        var latch = new StopLatch(1, 1);
        latch.Trip(0);
        var looked = latch.TripCount(0);
        latch.Trip(0);
        latch.Reset(0, looked);
        Assert.True(latch.IsStanding(0));
        latch.Reset(0, latch.TripCount(0));
        Assert.False(latch.IsStanding(0));
    }

    [Fact]
    public void Trips_FromManyThreads_AreAllCounted()
    {
        var latch = new StopLatch(2, 1);
        var threads = Enumerable.Range(0, 4).Select(_ => new Thread(() =>
        {
            for (var i = 0; i < 10_000; i++)
            {
                latch.Trip(1);
                latch.RequestStop(0);
            }
        })).ToArray();
        Array.ForEach(threads, thread => thread.Start());
        Array.ForEach(threads, thread => thread.Join());
        Assert.Equal(40_000, latch.TripCount(1));
        Assert.Equal(40_000, latch.StopEpoch(0));
        Assert.Equal(80_000, latch.Generation);
        Assert.False(latch.IsStanding(0));
    }

    [Fact]
    public void RequestStop_TellsTheEpochThatIsActedOn()
    {
        var latch = new StopLatch(1, 2);
        Assert.Equal(1, latch.RequestStop(1));
        Assert.Equal(2, latch.RequestStop(1));
        Assert.Equal(0, latch.StopEpoch(0));
        Assert.Equal(2, latch.StopEpoch(1));
    }

    [Fact]
    public void Stop_LocksUntilReleased_AndALaterOneSurvivesTheRelease()
    {
        var latch = new StopLatch(1, 2);
        latch.RequestHalt(0);
        Assert.False(latch.IsLocked(0));
        var seen = latch.RequestStop(0);
        Assert.True(latch.IsLocked(0));
        Assert.False(latch.IsLocked(1));
        latch.RequestHalt(0);
        latch.Release(0, seen);
        Assert.False(latch.IsLocked(0));

        var looked = latch.RequestStop(0);
        latch.RequestStop(0);
        latch.Release(0, looked);
        Assert.True(latch.IsLocked(0));
    }

    [Fact]
    public void Causes_AboveTheMask_AreRefused() => Assert.Throws<ArgumentOutOfRangeException>(() => new StopLatch(65, 1));

    [Theory]
    [InlineData(0UL, -1)]
    [InlineData(0b1000UL, 3)]
    [InlineData(0b1010UL, 1)]
    [InlineData(1UL << 63, 63)]
    public void First_IsTheLowestCause(ulong mask, int expected) => Assert.Equal(expected, StopLatch.First(mask));

    [Fact]
    public void Masks_FollowTheMachineFile()
    {
        var machine = Parts.Machine(Parts.Axis("a") with { Group = 0 }, Parts.Axis("b", 2) with { Group = 0 }, Parts.Axis("c", 3)) with
        {
            Groups = [new GroupDefinition("head", [0, 1])],
            Interlocks = [Parts.Interlock("guard", InterlockKind.Guard, 1, [0], 0), Parts.Interlock("vacuum", InterlockKind.Process, 2, [1, 2], 1)],
        };
        var causes = new StopCauses(machine);
        Assert.Equal(4, causes.Count);
        Assert.Equal(0b0011UL, causes.Mask(0, 1));
        Assert.Equal(0b1000UL, causes.Mask(0, 2));
        Assert.Equal(0b1100UL, causes.Mask(1, 2));
        Assert.Equal(0b0101UL, causes.Mask(2));
        Assert.Equal(0UL, causes.Mask(2, 0));
        Assert.Equal((0, 1, -1), (causes.InterlockOf(1), causes.InterlockOf(2), causes.InterlockOf(3)));
        Assert.Equal((-1, 0), (causes.GroupOf(2), causes.GroupOf(3)));
    }

    [Fact]
    public void Board_StartsGuardsUnresetAndProcessConditionsReset()
    {
        var machine = Parts.Machine(Parts.Axis("a")) with
        {
            Interlocks =
            [
                Parts.Interlock("stop", InterlockKind.EmergencyStop, 1, [0], 0), Parts.Interlock("guard", InterlockKind.Guard, 1, [0], 0),
                Parts.Interlock("vacuum", InterlockKind.Process, 2, [0], 0),
            ],
        };
        var board = new MachineBoard(machine);
        Assert.True(board.Latch.IsStanding(StopCauses.Interlock(0)));
        Assert.True(board.Latch.IsStanding(StopCauses.Interlock(1)));
        Assert.False(board.Latch.IsStanding(StopCauses.Interlock(2)));
    }
}

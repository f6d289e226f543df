using Supervisor.Machine.Api;
using Supervisor.Scenarios.Checks;
using Supervisor.Scenarios.Stories;
using Supervisor.Scenarios.World;
using Supervisor.Simulation.Wires;

namespace Supervisor.Scenarios.Links;

/// <summary>
/// A Modbus RTU reply does not say which request it answers. The master keeps requests of one shape apart for twice their reply time-out
/// after one that went unanswered: up to there no reply is taken for a later request's. What comes later still can be: how often is counted
/// here, so that nobody believes it can't.
/// </summary>
public sealed class LateReplyTests(ITestOutputHelper output)
{
    [Theory]
    [InlineData(0.5)]
    [InlineData(0.95)]
    public void Reply_WithinTwiceItsTimeOut_IsNeverTakenForANewerOne(double timeOutsLate)
    {
        var (wrong, read) = Count(timeOutsLate);
        output.WriteLine($"{wrong} of {read} readings wrong");
        Assert.True(read > 5_000);
        Assert.Equal(0, wrong);
    }

    /// <summary>Every third reply is late, by up to four time-outs: no line that is fit for use does that. Some two in a hundred readings are wrong then; most late replies are thrown away as they come between two requests.</summary>
    [Fact]
    public void Reply_LaterThanTwiceItsTimeOut_IsSeldomTakenForANewerOne()
    {
        var (wrong, read) = Count(4);
        output.WriteLine($"{wrong} of {read} readings wrong");
        Assert.True(read > 5_000);
        Assert.InRange(wrong / (double)read, 0, 0.05);
    }

    private static (int Wrong, long Read) Count(double timeOutsLate)
    {
        const ulong seed = 7;
        var world = new StoryWorld(Machines.TwoPorts(), seed, new Tally());
        var readings = new Readings(world);
        world.Checkers = [readings];
        foreach (var port in Enumerable.Range(0, world.Faults.Length))
        {
            world.Faults[port] = new WireFaults(0, 0, 0, 0, 0.33, 0, world.Machine.Ports[port].ResponseTimeout * timeOutsLate);
        }

        world.Start();
        var control = world.Supervisor!.Coordinator.Control;
        var grant = control.TryAcquire("somebody", out _);
        KeepMoving(world, grant!);
        world.Queue.RunUntil(world.Queue.Now + TimeSpan.FromMinutes(2));
        return (world.Findings.Count, readings.Looks);
    }

    /// <summary>Brings both axes to work and keeps them moving, whatever faults their late line gives them.</summary>
    private static void KeepMoving(StoryWorld world, AuthorityGrant grant)
    {
        world.Give(new ResetCommand([]), grant);
        world.Give(new EnableCommand([0, 1]), grant);
        world.Give(new EnableCommand([0]), grant);
        world.Give(new EnableCommand([1]), grant);
        world.Give(new MoveCommand([new MoveTarget(0, 700, true)], null), grant);
        world.Give(new MoveCommand([new MoveTarget(1, -700, true)], null), grant);
        world.Queue.After(TimeSpan.FromSeconds(1), () => KeepMoving(world, grant));
    }
}

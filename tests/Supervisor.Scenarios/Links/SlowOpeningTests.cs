using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Links;

/// <summary>A device whose opening takes its time, or never ends: nothing of the machine waits for it.</summary>
public sealed class SlowOpeningTests
{
    [Fact]
    public void Opening_ThatTakesSeconds_HoldsNeitherStopsNorTheOtherPort()
    {
        var world = Moving(21);
        world.Ports[1].OpeningTakes = TimeSpan.FromSeconds(8);
        Replug(world);
        world.RunUntil(() => world.State("dibber") == AxisState.Faulted, 3, "dibber lost");
        world.Run(1);

        // While it opens: its stepper lives, the other port moves, and an interlock stops it at once.
        var beat = world.Board.Ports[1].Port.Read().At;
        var move = world.Give("gantry", AxisCommandKind.Move, 800);
        world.RunUntil(() => world.Snapshot("gantry").Velocity > 100, 3, "gantry moves");
        Assert.True(world.Board.Ports[1].Port.Read().At > beat);
        Assert.False(world.Board.Ports[1].Port.Read().Open);
        var tripped = world.Queue.Now;
        world.Board.Latch.RequestHalt(world.Axis("gantry"));
        world.RunUntil(() => Math.Abs(world.Snapshot("gantry").Velocity) < 1, 3, "gantry rests");
        Assert.True(world.Queue.Now - tripped < TimeSpan.FromSeconds(2));
        Assert.NotEqual(default, world.EndOf(move));

        world.RunUntil(() => world.Snapshot("dibber").Online, 10, "dibber met again");
        Assert.Equal(1, world.Faults.Count(fault => fault.Code == FaultCode.LinkLost));
    }

    [Fact]
    public void Opening_ThatNeverEnds_LeavesTheRestOfTheMachineAsItIs()
    {
        var world = Moving(22);
        world.Ports[1].OpeningTakes = TimeSpan.FromDays(1);
        Replug(world);
        for (var i = 0; i < 10; i++)
        {
            world.Do("gantry", AxisCommandKind.Move, i % 2 == 0 ? 300 : 20);
        }

        Assert.False(world.Snapshot("dibber").Online);
        Assert.InRange(world.Queue.Now - world.Board.Ports[1].Port.Read().At, TimeSpan.Zero, TimeSpan.FromMilliseconds(3));
        Assert.DoesNotContain(world.Faults, fault => fault.Axis == world.Axis("gantry"));
    }

    private static void Replug(SimulatedWorld world)
    {
        world.Ports[1].IsUnplugged = true;
        world.RunUntil(() => !world.Board.Ports[1].Port.Read().Open, 1, "unplugged");
        world.Ports[1].IsUnplugged = false;
    }

    private static SimulatedWorld Moving(ulong seed)
    {
        // The dibber stands alone: what is lost with it stops nobody else.
        var machine = SimulatedWorld.DemoMachine();
        var world = new SimulatedWorld(machine with { Groups = [], Interlocks = [], Axes = [.. machine.Axes.Select(axis => axis with { Group = null })] }, seed);
        world.StartUp();
        world.Do("dibber", AxisCommandKind.Home);
        world.Do("gantry", AxisCommandKind.Home);
        return world;
    }
}

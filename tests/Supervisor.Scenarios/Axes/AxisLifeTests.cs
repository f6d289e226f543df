using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Axes;

public sealed class AxisLifeTests
{
    [Fact]
    public void Axis_FromStartToMove_WalksTheDiagram()
    {
        var world = new SimulatedWorld(SimulatedWorld.DemoMachine(), 1);
        world.StartUp();
        Assert.Equal(AxisState.Disabled, world.State("dibber"));
        Assert.Equal(AxisDetail.NotReferenced, world.Snapshot("dibber").Detail);

        world.Do("dibber", AxisCommandKind.Home);
        Assert.Equal(AxisState.Ready, world.State("dibber"));
        Assert.True(world.Snapshot("dibber").Referenced);
        Assert.Equal(0, world.Snapshot("dibber").Position, 0.2);

        world.Do("dibber", AxisCommandKind.Move, 120);
        Assert.Equal(120, world.Snapshot("dibber").Position, 0.05);
        Assert.Equal(120, world.Drive("dibber").CountedPosition / 1000, 0.06);

        world.Do("dibber", AxisCommandKind.Disable);
        Assert.Equal(AxisState.Disabled, world.State("dibber"));
        world.Run(1);
        Assert.Equal(120, world.Drive("dibber").CountedPosition / 1000, 0.5);
        Assert.Empty(world.Faults);
    }

    [Fact]
    public void Move_AllAxesAtOnce_Arrive()
    {
        var world = new SimulatedWorld(SimulatedWorld.DemoMachine(), 2);
        world.StartUp();
        world.Do("dibber", AxisCommandKind.Home);
        world.Do("gantry", AxisCommandKind.Home);
        world.Do("tray", AxisCommandKind.Enable);
        world.Do("drum", AxisCommandKind.Enable);
        ulong[] moves =
        [
            world.Give("gantry", AxisCommandKind.Move, 410),
            world.Give("tray", AxisCommandKind.MoveBy, 320),
            world.Give("drum", AxisCommandKind.MoveBy, 450),
            world.Give("dibber", AxisCommandKind.Move, 30),
        ];
        world.RunUntil(() => moves.All(id => world.EndOf(id).Outcome != Outcome.None), 20, "all moves end");
        Assert.All(moves, id => Assert.Equal(Outcome.Done, world.EndOf(id).Outcome));
        Assert.Equal(410, world.Snapshot("gantry").Position, 0.1);
        Assert.Empty(world.Faults);
    }
}

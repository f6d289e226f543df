using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Stops;

/// <summary>Stop categories of IEC 60204-1, 9.2.2 on moving plants: 0 removes power at once, 1 after rest, 2 keeps it.</summary>
public sealed class StopCategoryTests
{
    [Fact]
    public void Category1_WhileMoving_StopsThenRemovesTorque()
    {
        var world = Moving(out var move);
        world.Trip("front guard");
        var torqueOffWhileFast = false;
        world.RunUntil(
            () =>
            {
                torqueOffWhileFast |= !world.Drive("gantry").Plant.Powered && Math.Abs(world.Drive("gantry").Plant.Velocity) > 10;
                return world.State("gantry") == AxisState.Disabled;
            },
            5, "gantry disabled");
        Assert.False(torqueOffWhileFast);
        Assert.False(world.Drive("gantry").Plant.Powered);
        Assert.Equal(Outcome.Replaced, world.EndOf(move).Outcome);
        Assert.Equal(Refusal.InterlockTripped, world.EndOf(move).Refusal);

        // The tray is not behind the guard.
        Assert.Equal(AxisState.Ready, world.State("tray"));
        Assert.True(world.Snapshot("gantry").Referenced);
    }

    [Fact]
    public void Category2_WhileMoving_StopsAndKeepsTorqueInhibited()
    {
        var world = Moving(out _);
        var spin = world.Give("drum", AxisCommandKind.MoveBy, 3600);
        world.Run(0.6);
        world.Trip("vacuum");
        world.RunUntil(() => world.EndOf(spin).Outcome != Outcome.None && world.State("drum") == AxisState.Ready, 3, "drum stands");
        Assert.Equal(AxisDetail.Inhibited, world.Snapshot("drum").Detail);
        Assert.True(world.Drive("drum").Plant.Powered);
        Assert.Equal(AxisState.Moving, world.State("gantry"));

        var refused = world.Give("drum", AxisCommandKind.MoveBy, 10);
        world.Run(0.2);
        Assert.Equal(Refusal.InterlockOpen, world.EndOf(refused).Refusal);
        var before = world.Drive("drum").CountedPosition;
        world.ResetInterlocks();
        world.Run(1);

        // Closing and resetting permit; nothing resumes by itself.
        Assert.Equal(before, world.Drive("drum").CountedPosition, 20.0);
        world.Do("drum", AxisCommandKind.MoveBy, 10);
    }

    [Fact]
    public void Interlock_OpenInput_TripsFromTheDriveItself()
    {
        var world = Moving(out _);
        world.Drive("gantry").SetInput("input1", false);
        world.RunUntil(() => world.State("gantry") == AxisState.Disabled && world.State("dibber") == AxisState.Disabled, 5, "both behind the guard disabled");
        Assert.Equal(AxisState.Ready, world.State("tray"));
        world.ResetInterlocks();
        world.Run(0.5);

        // Still open: the reset does not hold.
        Assert.NotEqual(0UL, world.Snapshot("gantry").Causes);
    }

    [Fact]
    public void Disable_GravityLoadedAxis_DoesNotSink()
    {
        var world = Moving(out _);
        world.Do("dibber", AxisCommandKind.Move, 90);
        var before = world.Drive("dibber").CountedPosition;
        world.Do("dibber", AxisCommandKind.Disable);
        world.Run(2);
        Assert.False(world.Drive("dibber").Plant.Powered);
        Assert.Equal(before, world.Drive("dibber").CountedPosition, 300.0);
    }

    [Fact]
    public void Stop_WhileMoving_EndsReadyAndCancelsWhatIsStillInTheMailbox()
    {
        var world = Moving(out var move);
        var epochBefore = world.Board.Latch.StopEpoch(world.Axis("gantry"));
        var late = world.Give("gantry", AxisCommandKind.Move, 0);
        world.Board.Latch.RequestStop(world.Axis("gantry"));
        world.RunUntil(() => world.State("gantry") == AxisState.Ready, 3, "gantry stands");
        Assert.Equal(Outcome.Replaced, world.EndOf(move).Outcome);
        Assert.Equal(Refusal.Stopped, world.EndOf(late).Refusal);
        Assert.True(world.Snapshot("gantry").StopEpochSeen > epochBefore);
        Assert.True(world.Drive("gantry").Plant.Powered);
        world.Do("gantry", AxisCommandKind.Release);
        world.Do("gantry", AxisCommandKind.Move, 100);
    }

    [Fact]
    public void Stop_WhileHoming_EndsDisabledWithoutReference()
    {
        var world = new SimulatedWorld(SimulatedWorld.DemoMachine(), 5);
        world.StartUp();
        var home = world.Give("gantry", AxisCommandKind.Home);
        world.RunUntil(() => Math.Abs(world.Snapshot("gantry").Velocity) > 10, 10, "searching");
        Assert.Equal(AxisState.Homing, world.State("gantry"));
        world.Board.Latch.RequestStop(world.Axis("gantry"));
        world.RunUntil(() => world.State("gantry") == AxisState.Disabled, 5, "off");
        Assert.False(world.Snapshot("gantry").Referenced);
        Assert.Equal(Outcome.Replaced, world.EndOf(home).Outcome);
        world.Do("gantry", AxisCommandKind.Release);
        world.Do("gantry", AxisCommandKind.Home);
    }

    private static SimulatedWorld Moving(out ulong move)
    {
        var world = new SimulatedWorld(SimulatedWorld.DemoMachine(), 4);
        world.StartUp();
        world.Do("dibber", AxisCommandKind.Home);
        world.Do("gantry", AxisCommandKind.Home);
        world.Do("tray", AxisCommandKind.Enable);
        world.Do("drum", AxisCommandKind.Enable);
        world.Do("gantry", AxisCommandKind.Move, 0);
        move = world.Give("gantry", AxisCommandKind.Move, 800);
        world.RunUntil(() => world.Snapshot("gantry").Velocity > 200, 3, "gantry at speed");
        return world;
    }
}

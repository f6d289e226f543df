using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Stops;

/// <summary>A halt may be replaced, a stop locks until it is released: as PLCopen's MC_Halt and MC_Stop are told apart (value from memory).</summary>
public sealed class HaltAndStopTests
{
    [Fact]
    public void Halt_WhileDecelerating_IsReplacedByANewMove()
    {
        var world = Moving(41);
        world.Board.Latch.RequestHalt(world.Axis("gantry"));
        world.RunUntil(() => world.Snapshot("gantry").Detail == AxisDetail.Stopping && world.Snapshot("gantry").Velocity < 300, 1, "decelerating");
        var slowest = double.MaxValue;
        var back = world.Give("gantry", AxisCommandKind.Move, 700);
        world.RunUntil(
            () =>
            {
                slowest = Math.Min(slowest, world.Snapshot("gantry").Velocity);
                return world.EndOf(back).Outcome != Outcome.None;
            },
            5, "second move ends");
        Assert.Equal(Outcome.Done, world.EndOf(back).Outcome);
        Assert.Equal(700, world.Snapshot("gantry").Position, 0.1);
        Assert.False(world.Snapshot("gantry").StopLocked);
    }

    [Fact]
    public void Halt_AfterOneThatAMoveTookOver_IsJudgedByItsOwnBeginning()
    {
        var world = Moving(47);
        world.Board.Latch.RequestHalt(world.Axis("gantry"));
        world.RunUntil(() => world.Snapshot("gantry").Detail == AxisDetail.Stopping && world.Snapshot("gantry").Velocity < 350, 1, "decelerating");
        world.Give("gantry", AxisCommandKind.Move, 810, velocity: 400);
        world.Run(1.2);
        Assert.True(world.Snapshot("gantry").Velocity > 390, "on its way, longer than a stop may take");
        world.Board.Latch.RequestHalt(world.Axis("gantry"));
        world.RunUntil(() => world.State("gantry") != AxisState.Moving, 3, "stands");
        Assert.Equal(AxisState.Ready, world.State("gantry"));
        Assert.Empty(world.Faults);
    }

    [Fact]
    public void Stop_WhileDecelerating_IsReplacedByNothing()
    {
        var world = Moving(42);
        world.Board.Latch.RequestStop(world.Axis("gantry"));
        world.RunUntil(() => world.Snapshot("gantry").Detail == AxisDetail.Stopping, 1, "decelerating");
        var move = world.Give("gantry", AxisCommandKind.Move, 700);
        var release = world.Give("gantry", AxisCommandKind.Release);
        world.Run(0.05);
        Assert.Equal((Outcome.Refused, Refusal.StopLocked), (world.EndOf(move).Outcome, world.EndOf(move).Refusal));
        Assert.Equal(Refusal.AxisBusy, world.EndOf(release).Refusal);
        world.RunUntil(() => world.State("gantry") == AxisState.Ready, 3, "gantry stands");
        Assert.Equal((AxisDetail.Stopped, true), (world.Snapshot("gantry").Detail, world.Snapshot("gantry").StopLocked));
        Assert.True(world.Drive("gantry").Plant.Powered);
    }

    [Fact]
    public void Stop_Locked_RefusesEveryMotionAndTakesEnableAndDisable()
    {
        var world = Moving(43);
        world.Board.Latch.RequestStop(world.Axis("gantry"));
        world.RunUntil(() => world.State("gantry") == AxisState.Ready, 3, "gantry stands");
        var before = world.Drive("gantry").CountedPosition;
        foreach (var kind in new[] { AxisCommandKind.Move, AxisCommandKind.MoveBy, AxisCommandKind.Contact, AxisCommandKind.Home })
        {
            var refused = world.Give("gantry", kind, 10, 20, 10);
            world.Run(0.2);
            Assert.Equal(Refusal.StopLocked, world.EndOf(refused).Refusal);
        }

        world.Do("gantry", AxisCommandKind.Disable);
        Assert.Equal(AxisDetail.Stopped, world.Snapshot("gantry").Detail);
        world.Do("gantry", AxisCommandKind.Enable);
        Assert.Equal(before, world.Drive("gantry").CountedPosition, 100.0);
        world.Do("gantry", AxisCommandKind.Release);
        world.Run(1);

        // A release permits; nothing resumes by itself.
        Assert.Equal(before, world.Drive("gantry").CountedPosition, 100.0);
        world.Do("gantry", AxisCommandKind.Move, 100);
    }

    [Fact]
    public void Stop_AfterTheReleaseWasGiven_Wins()
    {
        var world = Moving(44);
        world.Board.Latch.RequestStop(world.Axis("gantry"));
        world.RunUntil(() => world.State("gantry") == AxisState.Ready, 3, "gantry stands");
        var release = world.Give("gantry", AxisCommandKind.Release);
        world.Board.Latch.RequestStop(world.Axis("gantry"));
        world.RunUntil(() => world.EndOf(release).Outcome != Outcome.None, 1, "release ends");
        Assert.Equal((Outcome.Replaced, Refusal.Stopped), (world.EndOf(release).Outcome, world.EndOf(release).Refusal));
        Assert.True(world.Snapshot("gantry").StopLocked);

        // A halt locks nothing, so it takes no release back.
        release = world.Give("gantry", AxisCommandKind.Release);
        world.Board.Latch.RequestHalt(world.Axis("gantry"));
        world.RunUntil(() => world.EndOf(release).Outcome != Outcome.None, 1, "release ends");
        Assert.Equal(Outcome.Done, world.EndOf(release).Outcome);
        Assert.False(world.Snapshot("gantry").StopLocked);
    }

    private static SimulatedWorld Moving(ulong seed)
    {
        var world = new SimulatedWorld(SimulatedWorld.DemoMachine(), seed);
        world.StartUp();
        world.Do("gantry", AxisCommandKind.Home);
        world.Do("gantry", AxisCommandKind.Move, 0);
        world.Give("gantry", AxisCommandKind.Move, 800);
        world.RunUntil(() => world.Snapshot("gantry").Velocity > 400, 3, "gantry at speed");
        return world;
    }
}

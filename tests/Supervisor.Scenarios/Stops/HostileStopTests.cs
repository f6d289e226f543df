using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Stops;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Stops;

/// <summary>Stops and resets at the worst moments.</summary>
public sealed class HostileStopTests
{
    private const int Controlword = 64;

    [Fact]
    public void TripOfThePortItself_NoMotionFrameOfThatStepFollows()
    {
        // The trip delay runs out while nothing is on the line: the very step that trips the latch must not raise a set-point any more.
        const int seed = 71;
        var random = new Random(seed);
        var world = new SimulatedWorld(new OneAxis
        {
            Axis = OneAxis.Endless,
            CountsPerUnit = 100,
            Limits = """ "velocity": 400, "acceleration": 8000, "deceleration": 8000 """,
            Window = 0.5,
            Port = """ "cycleMs": 12, "responseTimeoutMs": 8, "retries": 1 """,
            Interlocks = """ { "name": "vacuum", "kind": "process", "inputs": ["slide.input1"], "tripDelayMs": 14, "stopCategory": 2, "axes": "all" } """,
        }.Build(), seed);
        world.StartUp();
        world.Do("slide", AxisCommandKind.Enable);
        var cause = StopCauses.Interlock(0);
        var before = 0;
        var after = 0;
        world.FrameBegun = frame =>
        {
            var isMotion = frame.Writes().Any(write => write.Address == Controlword && (write.Value & 0x0F) == 0x0F && ((write.Value & 0x100) == 0 || (write.Value & 0x10) != 0));
            before += isMotion && !world.Board.Latch.IsStanding(cause) ? 1 : 0;
            after += isMotion && world.Board.Latch.IsStanding(cause) ? 1 : 0;
        };
        for (var i = 0; i < 1000; i++)
        {
            world.Drive("slide").SetInput("input1", false);
            var end = world.Queue.Now + TimeSpan.FromMilliseconds(40);
            while (world.Queue.Now < end)
            {
                world.Give("slide", AxisCommandKind.MoveBy, i % 2 == 0 ? 20 : -20);
                world.Queue.RunUntil(world.Queue.Now + TimeSpan.FromMicroseconds(random.Next(100, 900)));
                _ = world.Reports.Count;
            }

            world.Drive("slide").SetInput("input1", true);
            world.Run(0.03);
            world.RunUntil(() => world.State("slide") == AxisState.Ready, 2, $"seed {seed}: stands in round {i}");
            world.ResetInterlocks();
        }

        Assert.True(before > 1000, $"seed {seed}: only {before} motion frames");
        Assert.True(after == 0, $"seed {seed}: {after} motion frames after a trip");
    }

    [Fact]
    public void MoveBy_AfterAStop_GoesFromWhereTheAxisStands()
    {
        var world = Ready();
        world.Do("gantry", AxisCommandKind.Move, 0);
        world.Give("gantry", AxisCommandKind.Move, 800);
        world.RunUntil(() => world.Snapshot("gantry").Position > 200, 3, "on its way");
        world.Board.Latch.RequestHalt(world.Axis("gantry"));
        world.RunUntil(() => world.State("gantry") == AxisState.Ready, 3, "stands");
        var stands = world.Snapshot("gantry").Position;
        world.Do("gantry", AxisCommandKind.MoveBy, 10);
        Assert.Equal(stands + 10, world.Snapshot("gantry").Position, 0.3);
    }

    [Fact]
    public void MoveBy_BeforeAHaltedAxisStands_GoesFromWhereItIs()
    {
        var world = Ready();
        world.Do("gantry", AxisCommandKind.Move, 0);
        world.Give("gantry", AxisCommandKind.Move, 800);
        world.RunUntil(() => world.Snapshot("gantry").Position > 200, 3, "on its way");
        world.Board.Latch.RequestHalt(world.Axis("gantry"));
        world.RunUntil(() => world.Snapshot("gantry").Detail == AxisDetail.Stopping, 1, "halting");
        var seen = world.Snapshot("gantry").Position;
        world.Do("gantry", AxisCommandKind.MoveBy, 10);
        Assert.InRange(world.Snapshot("gantry").Position, seen + 5, seen + 100);
    }

    [Fact]
    public void MoveBy_AfterADisable_GoesFromWhereTheAxisStands()
    {
        var world = Ready();
        world.Do("gantry", AxisCommandKind.Move, 100);
        world.Give("gantry", AxisCommandKind.Move, 800);
        world.RunUntil(() => world.Snapshot("gantry").Position > 200, 3, "on its way");
        world.Do("gantry", AxisCommandKind.Disable);
        world.Do("gantry", AxisCommandKind.Enable);
        var stands = world.Snapshot("gantry").Position;
        Assert.True(stands < 700);
        world.Do("gantry", AxisCommandKind.MoveBy, -10);
        Assert.Equal(stands - 10, world.Snapshot("gantry").Position, 0.3);
    }

    [Fact]
    public void MoveBy_AfterAContact_GoesFromTheContact()
    {
        var world = Ready();
        world.Do("dibber", AxisCommandKind.Move, 0);
        world.Do("dibber", AxisCommandKind.Contact, 60, 30, 20);
        var touches = world.Snapshot("dibber").Position;
        Assert.True(touches < 50);
        world.Do("dibber", AxisCommandKind.MoveBy, -5);
        Assert.Equal(touches - 5, world.Snapshot("dibber").Position, 1.0);
    }

    [Fact]
    public void MoveBy_AfterAnArrival_AddsUpWithoutRounding()
    {
        var world = Ready();
        world.Do("gantry", AxisCommandKind.Move, 100);
        for (var i = 0; i < 10; i++)
        {
            world.Do("gantry", AxisCommandKind.MoveBy, 10);
        }

        Assert.Equal(200, world.Snapshot("gantry").Target, 0.0011);
    }

    [Fact]
    public void Trip_InTheMiddleOfFirstContact_EndsDisabledOnEveryAxis()
    {
        for (var delayMs = 1; delayMs < 400; delayMs += 7)
        {
            var world = new SimulatedWorld(SimulatedWorld.DemoMachine(), (ulong)delayMs);
            world.Run(delayMs / 1000.0);
            world.Trip("emergency stop");
            world.Board.Latch.Trip(StopCauses.ShutDown);
            foreach (var axis in world.Machine.Axes)
            {
                world.Board.Latch.RequestHalt(world.Axis(axis.Name));
            }

            world.RunUntil(() => world.Machine.Axes.All(axis => world.Snapshot(axis.Name) is { Online: true, State: AxisState.Disabled }), 5, "all met and off");
            Assert.Empty(world.Faults);
            world.ResetInterlocks();
            world.Run(0.1);
            world.Do("dibber", AxisCommandKind.Home);
        }
    }

    [Fact]
    public void Reset_WhileTheFaultedAxisStillStops_IsRefusedAsBusy()
    {
        var world = Ready();
        world.Do("gantry", AxisCommandKind.Move, 0);
        world.Give("gantry", AxisCommandKind.Move, 800);
        world.RunUntil(() => world.Snapshot("gantry").Velocity > 300, 3, "at speed");
        world.Ports[0].Interfere = frame => frame.Unit == 2 ? Interference.LostRequest : Interference.None;
        world.RunUntil(() => world.State("gantry") == AxisState.Faulted, 2, "link lost");
        world.Ports[0].Interfere = null;
        world.RunUntil(() => world.Snapshot("gantry").Online, 2, "met again");
        Assert.Equal(AxisDetail.Stopping, world.Snapshot("gantry").Detail);
        var early = world.Give("gantry", AxisCommandKind.Reset);
        world.Run(0.02);
        Assert.Equal(Refusal.AxisBusy, world.EndOf(early).Refusal);
        Assert.Equal(AxisState.Faulted, world.State("gantry"));
        world.RunUntil(() => world.Snapshot("gantry") is { Detail: AxisDetail.None }, 5, "stopped and off");
        world.Do("gantry", AxisCommandKind.Reset);
    }

    [Fact]
    public void Reset_OfAFaultWhoseCausePersists_FailsAndStaysFaulted()
    {
        var world = Ready();
        var persists = true;
        world.Drive("gantry").Trip(0x4310);
        world.FrameBegun = _ =>
        {
            if (persists && !world.Drive("gantry").IsFaulted)
            {
                world.Drive("gantry").Trip(0x4310);
            }
        };
        world.RunUntil(() => world.Snapshot("gantry") is { State: AxisState.Faulted, Detail: AxisDetail.None }, 5, "faulted and off");
        var reset = world.Give("gantry", AxisCommandKind.Reset);
        world.RunUntil(() => world.EndOf(reset).Outcome != Outcome.None, 10, "the reset ends");
        Assert.Equal(Outcome.Failed, world.EndOf(reset).Outcome);
        Assert.Equal(Refusal.CauseStillPresent, world.EndOf(reset).Refusal);
        Assert.Equal(FaultCode.OverTemperature, world.EndOf(reset).Fault);
        Assert.Equal(AxisState.Faulted, world.State("gantry"));

        persists = false;
        world.Do("gantry", AxisCommandKind.Reset);
        Assert.Equal(AxisState.Disabled, world.State("gantry"));
    }

    [Fact]
    public void LinkLost_WhileAFaultIsCleared_FailsTheResetAndFaultsAnew()
    {
        var world = Ready();
        world.Drive("gantry").Trip(0x4310);
        world.RunUntil(() => world.Snapshot("gantry") is { State: AxisState.Faulted, Detail: AxisDetail.None }, 5, "faulted and off");
        world.FrameBegun = _ =>
        {
            if (!world.Drive("gantry").IsFaulted)
            {
                world.Drive("gantry").Trip(0x4310);
            }
        };
        var reset = world.Give("gantry", AxisCommandKind.Reset);
        world.Run(0.2);
        world.Ports[0].IsUnplugged = true;
        world.RunUntil(() => world.EndOf(reset).Outcome != Outcome.None, 3, "the reset ends");
        Assert.Equal(FaultCode.LinkLost, world.EndOf(reset).Fault);
        world.FrameBegun = null;
        world.Ports[0].IsUnplugged = false;
        world.RunUntil(() => world.Snapshot("gantry") is { Online: true, Detail: AxisDetail.None }, 10, "met again and off");
        Assert.Equal(AxisState.Faulted, world.State("gantry"));
        world.Do("gantry", AxisCommandKind.Reset);
    }

    [Fact]
    public void Stop_WhileTheWritesOfAMoveAreHalfDone_StartsNothing()
    {
        for (var delayMs = 1; delayMs < 90; delayMs++)
        {
            var world = new SimulatedWorld(new OneAxis
            {
                Wire = """ "read": { "function": 3, "maxRegisters": 32 }, "write": { "function": 6, "maxRegisters": 1 } """,
                Command = """{ "name": "targetPosition", "register": 20, "type": "s16", "scale": 10 }, { "name": "controlword", "register": 64, "type": "u16" }, { "name": "mode", "register": 65, "type": "s16" }, { "name": "profileVelocity", "register": 68, "type": "u16", "scale": 100 }, { "name": "profileAcceleration", "register": 70, "type": "u16", "scale": 1000 }, { "name": "profileDeceleration", "register": 90, "type": "u16", "scale": 1000 }""",
            }.Build(), 5);
            world.StartUp();
            world.Do("slide", AxisCommandKind.Home);
            var move = world.Give("slide", AxisCommandKind.Move, 150, velocity: 123);
            world.Run(delayMs / 1000.0);
            world.Board.Latch.RequestHalt(0);
            world.Run(1.5);
            var stands = world.Drive("slide").CountedPosition;
            world.Run(1);
            Assert.Equal(stands, world.Drive("slide").CountedPosition, 5.0);
            Assert.InRange(stands, -200, 25_000);
            Assert.Equal(Outcome.Replaced, world.EndOf(move).Outcome);
            Assert.Equal(AxisState.Ready, world.State("slide"));
            world.Do("slide", AxisCommandKind.Move, 60);
            Assert.Equal(60, world.Drive("slide").CountedPosition / 1000, 0.2);
        }
    }

    [Fact]
    public void Move_ReplacedAtAnyPointOfItsHandshake_GoesToTheNewTarget()
    {
        for (var delayMs = 1; delayMs < 160; delayMs += 3)
        {
            var world = Ready();
            world.Do("gantry", AxisCommandKind.Move, 100);
            var first = world.Give("gantry", AxisCommandKind.Move, 400);
            world.Run(delayMs / 1000.0);
            world.Do("gantry", AxisCommandKind.Move, 200);
            Assert.Equal(Outcome.Replaced, world.EndOf(first).Outcome);
            Assert.Equal(200, world.Drive("gantry").CountedPosition / 1000, 0.2);
        }
    }

    private static SimulatedWorld Ready()
    {
        var world = new SimulatedWorld(SimulatedWorld.DemoMachine(), 33);
        world.StartUp();
        world.Do("dibber", AxisCommandKind.Home);
        world.Do("gantry", AxisCommandKind.Home);
        return world;
    }
}

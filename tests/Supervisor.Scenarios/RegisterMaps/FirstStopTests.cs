using Supervisor.Records.Axes;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.RegisterMaps;

/// <summary>What comes first to a drive of single bits that a new supervisor meets: its stop, blind, or a look at it.</summary>
public sealed class FirstStopTests
{
    private const int Command = 64;
    private const int Power = 1;
    private const int Stop = 4;

    [Fact]
    public void AfterRead_DriveInMotion_IsReadThenStoppedUnderTorqueAndOffOnceItStands()
    {
        var world = Moving("afterRead");
        var frames = new List<WireFrame>();
        world.FrameBegun = frames.Add;
        world.StartSupervisor(null);
        var droppedAt = double.NaN;
        world.RunUntil(
            () =>
            {
                var plant = world.Drive("slide").Plant;
                droppedAt = double.IsNaN(droppedAt) && !plant.Powered ? Math.Abs(plant.Velocity) : droppedAt;
                return !plant.Powered && world.Snapshot("slide") is { Online: true, State: AxisState.Disabled };
            },
            3,
            "met, stopped and off");
        Assert.Equal(0, droppedAt, 1.0);
        Assert.Equal((3, false), (frames[0].Function, frames[0].Writes().Any()));
        Assert.Equal([(Command, Power | Stop)], frames.First(frame => frame.Writes().Any()).Writes().Select(write => (write.Address, (int)write.Value)));
        Assert.False(world.Drive("slide").IsFaulted);
    }

    [Fact]
    public void Blind_DriveInMotion_HearsItsStopFirstAndWithItThePowerBitLow()
    {
        var world = Moving("blind");
        var frames = new List<WireFrame>();
        world.FrameBegun = frames.Add;
        world.StartSupervisor(null);
        world.RunUntil(() => world.Snapshot("slide") is { Online: true, State: AxisState.Disabled }, 3, "met");
        Assert.Equal([(Command, Stop)], frames[0].Writes().Select(write => (write.Address, (int)write.Value)));
    }

    [Fact]
    public void AfterRead_LoadHeldByTorque_IsHeldUntilItsBrakeHasClosed()
    {
        var world = Homed("afterRead");
        var before = world.Drive("slide").Plant.Position;
        var frames = new List<WireFrame>();
        world.FrameBegun = frames.Add;
        world.KillSupervisor();
        world.StartSupervisor(null);
        world.RunUntil(() => !world.Drive("slide").Plant.Powered && world.Snapshot("slide") is { Online: true, State: AxisState.Disabled }, 3, "met and off");

        // No stop of its own: what is written of the command first is the whole image, with torque as it was found.
        var first = frames.First(frame => frame.Writes().Any(write => write.Address == Command)).Writes().First(write => write.Address == Command);
        Assert.Equal(Power, first.Value & Power);
        Assert.Equal(before, world.Drive("slide").Plant.Position, 0.1);
    }

    [Fact]
    public void AfterRead_DriveWithoutTorque_HearsNoStopAndNeverThePowerBit()
    {
        var world = Homed("afterRead");
        world.Do("slide", AxisCommandKind.Disable);
        world.KillSupervisor();
        world.Run(1);
        var frames = new List<WireFrame>();
        world.FrameBegun = frames.Add;
        world.StartSupervisor(null);
        world.RunUntil(() => world.Snapshot("slide").Online, 3, "met");
        Assert.DoesNotContain(frames.SelectMany(frame => frame.Writes()), write => write.Address == Command && (write.Value & Power) != 0);
        Assert.False(world.Drive("slide").Plant.Powered);
    }

    [Fact]
    public void AfterRead_DriveStartingAnewUnderTorque_GetsNoneByItsMeeting()
    {
        for (var phaseMs = 0; phaseMs < 40; phaseMs += 4)
        {
            var world = Homed("afterRead");
            world.Run(phaseMs / 1000.0);
            world.Drive("slide").Restart();
            Assert.False(
                world.Queue.RunUntil(() => world.Drive("slide").Plant.Powered, TimeSpan.FromSeconds(3)),
                $"torque without a command, phase {phaseMs} ms");
            Assert.Equal(AxisState.Faulted, world.State("slide"));
        }
    }

    private static SimulatedWorld Moving(string firstStop)
    {
        var world = Homed(firstStop);
        world.Give("slide", AxisCommandKind.Move, 190);
        world.RunUntil(() => world.Snapshot("slide").Velocity > 190, 3, "at speed");
        world.KillSupervisor();
        return world;
    }

    private static SimulatedWorld Homed(string firstStop)
    {
        var machine = new OneAxis
        {
            Axis = OneAxis.Homing + """, "gravityLoaded": true, "brake": { "releaseMs": 80, "closeMs": 60 }""",
            States = """ "states": { "powered": "status.0", "inPosition": "status.1", "referenced": "status.2", "fault": "status.3", "moving": "status.4" }, "commands": { "power": "command.0", "go": "command.1 rising", "stop": "command.2", "findReference": "command.3 rising", "clearFault": "command.4 rising" }""",
            Feedback = """{ "name": "status", "register": 0, "type": "u16" }, { "name": "position", "register": 1, "type": "s32" }, { "name": "velocity", "register": 3, "type": "s32" }, { "name": "digitalInputs", "register": 5, "type": "u16" }""",
            Command = """{ "name": "command", "register": 64, "type": "u16" }, { "name": "targetPosition", "register": 66, "type": "s32" }, { "name": "profileVelocity", "register": 68, "type": "u32" }, { "name": "profileAcceleration", "register": 70, "type": "u32" }, { "name": "profileDeceleration", "register": 72, "type": "u32" }""",
            Plain = """{ "name": "communicationTimeout", "register": 128, "type": "u16", "unit": "ms" }""",
            Extra = $$""" "communicationTimeout": { "fedBy": "anyFrame", "reaction": "quickStopThenOff" }, "firstStop": "{{firstStop}}" """,
        }.Build();
        var world = new SimulatedWorld(machine, 31);
        world.StartUp();
        world.Do("slide", AxisCommandKind.Home);
        return world;
    }
}

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

    /// <summary>
    /// A drive that starts anew within its own time-out (here 300 ms of 1000) while its line is silent, and is stopped then: its stop is the first it
    /// hears. Where the definition tells how fast it may start, that has no power bit; where it does not, the risk is there, and check warns of it.
    /// </summary>
    [Theory]
    [InlineData("", true)]
    [InlineData(""", "shortestStartMs": 280 """, false)]
    public void Blind_StoppedBehindAStartWithinItsTimeout_GetsTorqueOnlyWhereItsStartIsNotKnown(string start, bool getsTorque)
    {
        var energised = 0;
        for (var afterMs = 20; afterMs < 400; afterMs += 5)
        {
            var world = Homed("blind", start, """, "communicationTimeoutMs": 1000 """);
            world.Give("slide", AxisCommandKind.Move, 190);
            world.RunUntil(() => world.Snapshot("slide").Velocity > 190, 3, "at speed");
            world.Drive("slide").Restart();
            world.Run(afterMs / 1000.0);
            world.Board.Latch.RequestStop(0);
            energised += world.Queue.RunUntil(() => world.Drive("slide").Plant.Powered, TimeSpan.FromSeconds(2)) ? 1 : 0;
        }

        Assert.Equal(getsTorque, energised > 0);
    }

    private static SimulatedWorld Moving(string firstStop)
    {
        var world = Homed(firstStop);
        world.Give("slide", AxisCommandKind.Move, 190);
        world.RunUntil(() => world.Snapshot("slide").Velocity > 190, 3, "at speed");
        world.KillSupervisor();
        return world;
    }

    private static SimulatedWorld Homed(string firstStop, string more = "", string moreOfAxis = "")
    {
        var machine = new OneAxis
        {
            Axis = OneAxis.Homing + """, "gravityLoaded": true, "brake": { "releaseMs": 80, "closeMs": 60 }""" + moreOfAxis,
            States = """ "states": { "powered": "status.0", "inPosition": "status.1", "referenced": "status.2", "fault": "status.3", "moving": "status.4" }, "commands": { "power": "command.0", "go": "command.1 rising", "stop": "command.2", "findReference": "command.3 rising", "clearFault": "command.4 rising" }""",
            Feedback = """{ "name": "status", "register": 0, "type": "u16" }, { "name": "position", "register": 1, "type": "s32" }, { "name": "velocity", "register": 3, "type": "s32" }, { "name": "digitalInputs", "register": 5, "type": "u16" }""",
            Command = """{ "name": "command", "register": 64, "type": "u16" }, { "name": "targetPosition", "register": 66, "type": "s32" }, { "name": "profileVelocity", "register": 68, "type": "u32" }, { "name": "profileAcceleration", "register": 70, "type": "u32" }, { "name": "profileDeceleration", "register": 72, "type": "u32" }""",
            Plain = """{ "name": "communicationTimeout", "register": 128, "type": "u16", "unit": "ms" }""",
            Extra = $$""" "communicationTimeout": { "fedBy": "anyFrame", "reaction": "quickStopThenOff" }, "firstStop": "{{firstStop}}"{{more}} """,
        }.Build();
        var world = new SimulatedWorld(machine, 31);
        world.StartUp();
        world.Do("slide", AxisCommandKind.Home);
        return world;
    }
}

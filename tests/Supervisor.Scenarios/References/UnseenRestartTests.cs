using Supervisor.Configuration.Machines;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;
using Supervisor.Simulation.Wires;

namespace Supervisor.Scenarios.References;

/// <summary>
/// Drives that start anew within a silence that is no lost link yet, and tell no uptime: the zero, and what was set in them, must not be believed
/// to be there still.
/// </summary>
public sealed class UnseenRestartTests
{
    // A start of 300 ms, and half a second of silence that is borne.
    private const string Patient = OneAxis.Homing + ", \"communicationTimeoutMs\": 1000";

    private static readonly OneAxis WithoutUptime = new()
    {
        Axis = Patient,
        Plain = """{ "name": "communicationTimeout", "register": 128, "type": "u16", "unit": "ms" }, { "name": "serialNumber", "register": 132, "type": "u32", "access": "read" }, { "name": "homed", "register": 134, "type": "u16", "access": "read" }""",
    };

    private static readonly OneAxis Bits = new()
    {
        Axis = Patient,
        States = """ "states": { "powered": "status.0", "inPosition": "status.1", "referenced": "status.2", "fault": "status.3", "moving": "status.4" }, "commands": { "power": "command.0", "go": "command.1 rising", "stop": "command.2", "findReference": "command.3 rising", "clearFault": "command.4 rising" }""",
        Feedback = """{ "name": "status", "register": 0, "type": "u16" }, { "name": "position", "register": 1, "type": "s32" }, { "name": "velocity", "register": 3, "type": "s32" }, { "name": "digitalInputs", "register": 5, "type": "u16" }""",
        Command = """{ "name": "command", "register": 64, "type": "u16" }, { "name": "targetPosition", "register": 66, "type": "s32" }, { "name": "profileVelocity", "register": 68, "type": "u32" }, { "name": "profileAcceleration", "register": 70, "type": "u32" }, { "name": "profileDeceleration", "register": 72, "type": "u32" }""",
        Plain = """{ "name": "communicationTimeout", "register": 128, "type": "u16", "unit": "ms" }""",
    };

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void DisabledDrive_StartingAnewWithinTheLinksPatience_HasLostItsZeroAndIsMetAnew(bool hasBits)
    {
        var machine = (hasBits ? Bits : WithoutUptime).Build();
        for (var phaseMs = 0; phaseMs < 40; phaseMs += 4)
        {
            var world = Homed(machine);
            world.Do("slide", AxisCommandKind.Disable);
            world.Run(1 + (phaseMs / 1000.0));
            world.Drive("slide").Restart();
            world.Run(1);

            Assert.False(world.Snapshot("slide").Referenced, $"a zero that was lost at phase {phaseMs} ms");
            Assert.Equal(AxisState.Faulted, world.State("slide"));
            Assert.Equal(1000, world.Drive("slide").Register("communicationTimeout"));
        }
    }

    [Fact]
    public void FaultedDrive_StartingAnewWithinTheLinksPatience_HasLostItsZero()
    {
        var world = Homed(Bits.Build());
        world.Drive("slide").Trip(0x2310);
        world.RunUntil(() => world.State("slide") == AxisState.Faulted && !world.Drive("slide").Plant.Powered, 1, "faulted and off");
        world.Run(1);
        world.Drive("slide").Restart();
        world.RunUntil(() => !world.Snapshot("slide").Referenced, 0.5, "zero lost");
    }

    [Fact]
    public void MovingDrive_SayingThatItsZeroIsLost_IsStoppedAsWithABrokenEncoder()
    {
        var world = Homed(Bits.Build());
        world.Give("slide", AxisCommandKind.Move, 180);
        world.RunUntil(() => world.Snapshot("slide").Velocity > 100, 2, "at speed");
        world.Drive("slide").LoseZero();
        world.RunUntil(() => world.State("slide") == AxisState.Faulted && !world.Drive("slide").Plant.Powered, 1, "stopped and off");
        Assert.Equal(FaultCode.Encoder, world.Snapshot("slide").Fault);
        Assert.False(world.Snapshot("slide").Referenced);
        Assert.True(world.Drive("slide").Plant.Position < 180);
    }

    [Fact]
    public void EnergisedDrive_ThatMissesTwoQuestionsUnderTorque_KeepsItsZero()
    {
        var world = Homed(WithoutUptime.Build());
        world.Ports[0].Wire.Faults = WireFaults.None with { LoseReply = 1 };
        world.Run(0.15);
        world.Ports[0].Wire.Faults = WireFaults.None;
        world.Run(1);
        Assert.Equal(AxisState.Ready, world.State("slide"));
        Assert.True(world.Snapshot("slide").Referenced);
        Assert.Empty(world.Faults);
    }

    private static SimulatedWorld Homed(MachineDefinition machine)
    {
        var world = new SimulatedWorld(machine, 21);
        world.StartUp();
        world.Do("slide", AxisCommandKind.Home);
        return world;
    }
}

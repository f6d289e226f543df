using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.RegisterMaps;

/// <summary>A drive of single bits that is unlocked before it takes commands, acknowledges every edge, and counts its registers from 40001.</summary>
public sealed class AwkwardDriveTests
{
    private const string Unlock =
        """, "unlock": { "writes": [ { "register": 40301, "value": 4660 }, { "register": 40301, "value": 22136 } ], "unlocked": "status.8", "stopWhileLocked": true }""";

    [Fact]
    public void Drive_LockedAndAcknowledging_HomesMovesAndStops()
    {
        var world = Home();
        world.Do("slide", AxisCommandKind.Move, 150);
        var move = world.Give("slide", AxisCommandKind.Move, 20);
        world.RunUntil(() => world.Snapshot("slide").Position < 100, 3, "on its way");
        world.Board.Latch.RequestStop(0);
        world.RunUntil(() => world.State("slide") == AxisState.Ready, 3, "stands");
        Assert.Equal(Outcome.Replaced, world.EndOf(move).Outcome);
        world.Do("slide", AxisCommandKind.Release);
        world.Do("slide", AxisCommandKind.Move, 20);
        Assert.Equal(20, world.Drive("slide").CountedPosition / 1000, 0.2);
        Assert.Empty(world.Faults);
    }

    [Fact]
    public void Fault_OfAnAcknowledgingDrive_IsResetByItsHandshake()
    {
        var world = Home();
        world.Drive("slide").Trip(0x2310);
        world.RunUntil(() => world.State("slide") == AxisState.Faulted, 3, "faulted");
        world.Run(1);
        world.Do("slide", AxisCommandKind.Reset);
        Assert.False(world.Drive("slide").IsFaulted);
        world.Do("slide", AxisCommandKind.Enable);
        world.Do("slide", AxisCommandKind.Move, 30);
    }

    [Fact]
    public void Drive_ThatRestarts_IsUnlockedAgain()
    {
        var world = Home();
        world.Drive("slide").Restart();
        Assert.True(world.Drive("slide").IsLocked);
        world.RunUntil(() => world.State("slide") == AxisState.Faulted && world.Snapshot("slide").Online, 10, "met again");
        Assert.False(world.Drive("slide").IsLocked);
    }

    /// <summary>It refuses what comes between its last key and that time, which is no fault; one that stays locked is.</summary>
    [Theory]
    [InlineData(0.5, false)]
    [InlineData(2.0, false)]
    [InlineData(60.0, true)]
    public void Drive_ThatUnlocksSlowly_IsMetWithoutAFault(double seconds, bool isFault)
    {
        var world = Made();
        world.Drive("slide").UnlockDelay = TimeSpan.FromSeconds(seconds);
        world.Run(10);

        Assert.Equal(!isFault, world.Snapshot("slide").Online);
        Assert.Equal(isFault ? [FaultCode.RequestRejected] : [], world.Faults.Select(fault => fault.Code).Distinct());
    }

    [Fact]
    public void Drive_ThatLocksItselfInAMove_IsStoppedFaultedAndUnlockedAgain()
    {
        var world = Home();
        var move = world.Give("slide", AxisCommandKind.Move, 180);
        world.RunUntil(() => world.Snapshot("slide").Position > 50, 3, "on its way");
        world.Drive("slide").Lock();
        world.RunUntil(() => world.State("slide") == AxisState.Faulted && world.Snapshot("slide").Online, 5, "met again");
        Assert.Equal(FaultCode.RequestRejected, world.EndOf(move).Fault);
        Assert.False(world.Drive("slide").IsLocked);
        Assert.InRange(world.Drive("slide").CountedPosition / 1000, 50, 150);
    }

    private static SimulatedWorld Home()
    {
        var world = Made();
        Assert.True(world.Drive("slide").IsLocked);
        world.StartUp();
        world.Do("slide", AxisCommandKind.Home);
        Assert.Equal(0, world.Drive("slide").CountedPosition / 1000, 0.2);
        return world;
    }

    private static SimulatedWorld Made() => new(
        new OneAxis
        {
            Wire = """ "read": { "function": 3, "maxRegisters": 32 }, "write": { "function": 16, "maxRegisters": 32 }, "firstRegister": 40001 """,
            States = """
                "states": { "powered": "status.0", "inPosition": "status.1", "referenced": "status.2", "fault": "status.3", "moving": "status.4" },
                "commands": { "power": "command.0", "go": "command.1 rising", "stop": "command.2", "findReference": "command.3 rising", "clearFault": "command.4 rising" },
                "acknowledges": { "go": "status.5", "findReference": "status.6", "clearFault": "status.7" }
                """,
            Feedback = """{ "name": "status", "register": 40011, "type": "u16" }, { "name": "position", "register": 40012, "type": "s32" }, { "name": "velocity", "register": 40014, "type": "s32" }, { "name": "errorCode", "register": 40016, "type": "u16" }, { "name": "digitalInputs", "register": 40017, "type": "u16" }""",
            Command = """{ "name": "command", "register": 40101, "type": "u16" }, { "name": "targetPosition", "register": 40102, "type": "s32" }, { "name": "profileVelocity", "register": 40104, "type": "u32" }, { "name": "profileAcceleration", "register": 40106, "type": "u32" }, { "name": "profileDeceleration", "register": 40108, "type": "u32" }""",
            Plain = """{ "name": "communicationTimeout", "register": 40201, "type": "u16", "unit": "ms" }, { "name": "uptime", "register": 40202, "type": "u32", "unit": "ms", "access": "read" }""",
            Extra = "\"communicationTimeout\": { \"fedBy\": \"anyFrame\", \"reaction\": \"quickStopThenOff\" }" + Unlock,
        }.Build(),
        21);
}

using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Axes;

/// <summary>A drive whose fault numbers are its maker's own gets its names from its definition.</summary>
public sealed class FaultListTests
{
    private const string Drive = """
        { "name": "Bit drive with numbers", "protocol": "modbusRtu",
          "wire": { "read": { "function": 3, "maxRegisters": 16 }, "write": { "function": 16, "maxRegisters": 8 } },
          "states": { "powered": "status.0", "inPosition": "status.1", "fault": "status.3" },
          "commands": { "power": "command.0", "go": "command.1 rising", "stop": "command.2", "clearFault": "command.4 rising" },
          "feedback": [ { "name": "status", "register": 10, "type": "u16" }, { "name": "position", "register": 11, "type": "s32" },
                        { "name": "velocity", "register": 13, "type": "s32" }, { "name": "errorCode", "register": 15, "type": "u16" } ],
          "command": [ { "name": "command", "register": 20, "type": "u16" }, { "name": "targetPosition", "register": 21, "type": "s32" },
                       { "name": "profileVelocity", "register": 23, "type": "u32" } ],
          "communicationTimeout": { "fedBy": "anyFrame", "reaction": "quickStopThenOff" },
          "parameters": [ { "name": "communicationTimeout", "register": 30, "type": "u16", "unit": "ms" } ],
          "faults": [ { "code": 12, "fault": "overTemperature", "text": "Heat sink", "clear": "reset" }, { "code": 8976, "fault": "underVoltage" } ] }
        """;

    private const string Machine = """
        { "machine": { "name": "One belt" },
          "ports": [ { "name": "line-a", "device": "/dev/ttyS0", "baud": 115200, "parity": "none", "stopBits": 1, "cycleMs": 20, "gap": "standard", "responseTimeoutMs": 10, "retries": 1 } ],
          "axes": [ { "name": "belt", "port": "line-a", "address": 3, "definition": "numbers.drive.json", "unit": "mm", "countsPerUnit": 100, "endless": { "period": 500 },
              "limits": { "velocity": 200, "acceleration": 1500, "deceleration": 1500 }, "inPosition": { "window": 0.5, "dwellMs": 20 }, "reference": "none", "communicationTimeoutMs": 250 } ],
          "interlocks": [] }
        """;

    /// <summary>The drive wants a number with its reset for this fault, and another or none for others; afterwards 0 stands there.</summary>
    [Theory]
    [InlineData(17, "clearFault")]
    [InlineData(12, "clearFault")]
    [InlineData(17, null)]
    public void Reset_OfAFaultThatWantsANumber_GivesItAndTakesItBack(int number, string? bit)
    {
        var drive = Drive
            .Replace("\"type\": \"u32\" } ],", "\"type\": \"u32\" }, { \"name\": \"clearNumber\", \"register\": 26, \"type\": \"u16\" } ],", StringComparison.Ordinal)
            .Replace("{ \"code\": 8976,", "{ \"code\": 17, \"fault\": \"driveFault\", \"clear\": { \"field\": \"clearNumber\", \"value\": 49431 } }, { \"code\": 8976,", StringComparison.Ordinal)
            .Replace(bit is null ? ", \"clearFault\": \"command.4 rising\"" : "no change", "", StringComparison.Ordinal);
        var world = new SimulatedWorld(Machines.Read(Machine, ("numbers.drive.json", drive)), 22);
        world.StartUp();
        world.Do("belt", AxisCommandKind.Enable);
        for (var times = 0; times < 2; times++)
        {
            world.Drive("belt").Trip((ushort)number);
            world.RunUntil(() => world.State("belt") == AxisState.Faulted && world.Snapshot("belt").Detail == AxisDetail.None, 3, "faulted and off");
            Assert.Equal(0, world.Drive("belt").Register("clearNumber"));
            var given = false;
            var reset = world.Give("belt", AxisCommandKind.Reset);
            world.RunUntil(
                () =>
                {
                    given |= world.Drive("belt").Register("clearNumber") == 49431;
                    return world.State("belt") == AxisState.Disabled;
                },
                3,
                "reset");
            world.Run(0.2);
            Assert.Equal((number == 17, 0L), (given, world.Drive("belt").Register("clearNumber")));
            Assert.True(reset > 0);
            world.Do("belt", AxisCommandKind.Enable);
        }
    }

    /// <summary>8976 is 2310h, in CiA 402 an over-current: a drive with bits of its own means its own.</summary>
    [Theory]
    [InlineData(12, FaultCode.OverTemperature)]
    [InlineData(8976, FaultCode.UnderVoltage)]
    [InlineData(8992, FaultCode.DriveFault)]
    public void BitDrive_TripsWithItsOwnNumber_IsNamedByItsDefinition(int number, FaultCode expected)
    {
        var world = new SimulatedWorld(Machines.Read(Machine, ("numbers.drive.json", Drive)), 21);
        world.StartUp();
        world.Do("belt", AxisCommandKind.Enable);

        world.Drive("belt").Trip((ushort)number);
        world.RunUntil(() => world.State("belt") == AxisState.Faulted, 2, "faulted");

        var fault = Assert.Single(world.Faults);
        Assert.Equal((expected, (ushort)number), (fault.Code, fault.DriveCode));
        Assert.Equal((expected, (ushort)number), (world.Snapshot("belt").Fault, world.Snapshot("belt").DriveCode));
    }
}

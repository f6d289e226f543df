using Supervisor.Configuration.Machines;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Axes;

/// <summary>A drive without CiA 402 words and without function 17h: plain bits, low word first, few registers at a time.</summary>
public sealed class BitCodedTests
{
    private const string Drive = """
        { "name": "Bit drive", "protocol": "modbusRtu",
          "wire": { "read": { "function": 3, "maxRegisters": 8 }, "write": { "function": 16, "maxRegisters": 8 }, "wordOrder": "lowFirst", "firstRegister": 1 },
          "states": { "powered": "status.0", "inPosition": "status.1", "referenced": "status.2", "fault": "status.3", "moving": "status.4" },
          "commands": { "power": "command.0", "go": "command.1 rising", "stop": "command.2", "findReference": "command.3 rising", "clearFault": "command.4 rising" },
          "feedback": [ { "name": "status", "register": 200, "type": "u16" }, { "name": "position", "register": 201, "type": "s32" },
                        { "name": "velocity", "register": 210, "type": "s32" }, { "name": "digitalInputs", "register": 212, "type": "u16" } ],
          "command": [ { "name": "command", "register": 100, "type": "u16" }, { "name": "targetPosition", "register": 101, "type": "s32" },
                       { "name": "profileVelocity", "register": 103, "type": "u32" }, { "name": "profileAcceleration", "register": 120, "type": "u32" },
                       { "name": "profileDeceleration", "register": 122, "type": "u32" } ],
          "inputs": { "input1": "digitalInputs.0" },
          "communicationTimeout": { "fedBy": "anyFrame", "reaction": "quickStopThenOff" },
          "parameters": [ { "name": "communicationTimeout", "register": 300, "type": "u16", "unit": "ms" } ] }
        """;

    private const string Machine = """
        { "machine": { "name": "One carrier" },
          "ports": [ { "name": "line-a", "device": "/dev/ttyS0", "baud": 115200, "parity": "none", "stopBits": 1, "cycleMs": 30, "gap": "standard", "responseTimeoutMs": 10, "retries": 1 } ],
          "axes": [ { "name": "slide", "port": "line-a", "address": 7, "definition": "bits.drive.json", "unit": "mm", "countsPerUnit": 500, "inverted": true,
              "limits": { "position": [-100, 300], "velocity": 200, "acceleration": 1500, "deceleration": 1500 },
              "inPosition": { "window": 0.1, "dwellMs": 20 }, "homing": { "method": 17, "fast": 60, "slow": 10, "offset": 0, "timeoutMs": 20000, "order": 1 },
              "reference": "incremental", "communicationTimeoutMs": 250 } ],
          "interlocks": [ { "name": "level", "kind": "process", "inputs": ["slide.input1"], "stopCategory": 1, "axes": "all" } ] }
        """;

    [Fact]
    public void BitDrive_TrippedWhileItsPowerBitIsOnItsWay_NeverGetsIt()
    {
        for (var delayUs = 0; delayUs < 60_000; delayUs += 1500)
        {
            var world = new SimulatedWorld(Machines.Read(Machine, ("bits.drive.json", Drive)), 13);
            world.StartUp();
            world.Give("slide", AxisCommandKind.Home);
            world.Run(delayUs / 1e6);
            var isOn = false;
            world.FrameBegun = frame => isOn |= !world.Drive("slide").Plant.Powered && frame.Writes().Any(write => write.Address == 99 && (write.Value & 1) != 0);
            world.Trip("level");
            world.Run(0.3);
            Assert.False(isOn, $"the power bit went out after a trip of category 1, {delayUs} us after the command");
        }
    }

    [Fact]
    public void BitDrive_StartingAnewUnderTorque_GetsNoneByTheStopThatMeetsIt()
    {
        // At every phase of a cycle: how long the drive was silent when the stop is heard differs with it.
        var machine = Machine.Replace("\"cycleMs\": 30", "\"cycleMs\": 80", StringComparison.Ordinal)
            .Replace("\"communicationTimeoutMs\": 250", "\"communicationTimeoutMs\": 290", StringComparison.Ordinal);
        for (var phaseMs = 0; phaseMs < 80; phaseMs += 5)
        {
            var world = new SimulatedWorld(Machines.Read(machine, ("bits.drive.json", Drive)), 12);
            world.StartUp();
            world.Do("slide", AxisCommandKind.Home);
            world.Run(phaseMs / 1000.0);
            world.Drive("slide").Restart();
            Assert.False(
                world.Queue.RunUntil(() => world.Drive("slide").Plant.Powered, TimeSpan.FromSeconds(3)),
                $"torque without a command {world.Queue.Now.TotalSeconds:0.000} s, phase {phaseMs} ms");
            Assert.Equal(AxisState.Faulted, world.State("slide"));
        }
    }

    [Fact]
    public void BitDrive_StartingAnewWhileTheComputerIsBusy_GetsNoTorqueByWhatItHearsNext()
    {
        // No question goes unanswered, so nothing but the time says that the drive may have started anew; it starts in 300 ms.
        // Without an interlock, whose input would be too old and stop the axis as well.
        var machine = Machine.Replace("\"inputs\": [\"slide.input1\"]", "\"inputs\": [\"file:level\"]", StringComparison.Ordinal);
        foreach (var isStopped in new[] { true, false })
        {
            var world = new SimulatedWorld(Machines.Read(machine, ("bits.drive.json", Drive)), 14);
            world.StartUp();
            world.Do("slide", AxisCommandKind.Home);
            world.Drive("slide").Restart();
            world.Ports[0].PausedUntil = world.Queue.Now + TimeSpan.FromMilliseconds(350);
            if (isStopped)
            {
                world.Board.Latch.RequestHalt(0);
            }
            else
            {
                world.Give("slide", AxisCommandKind.Move, 100);
            }

            Assert.False(
                world.Queue.RunUntil(() => world.Drive("slide").Plant.Powered, TimeSpan.FromSeconds(3)),
                $"torque after a restart {world.Queue.Now.TotalSeconds:0.000} s, {(isStopped ? "stopped" : "told to move")}");
            Assert.Equal(AxisState.Faulted, world.State("slide"));
        }
    }

    [Fact]
    public void BitDrive_HomesMovesBothWaysStopsAndResetsAFault()
    {
        var world = new SimulatedWorld(Machines.Read(Machine, ("bits.drive.json", Drive)), 11);
        world.StartUp();
        world.Do("slide", AxisCommandKind.Home);
        Assert.True(world.Snapshot("slide").Referenced);
        world.Do("slide", AxisCommandKind.Move, 250);
        Assert.Equal(250, world.Snapshot("slide").Position, 0.1);
        Assert.Equal(-250, world.Drive("slide").CountedPosition / 500, 0.2);
        world.Do("slide", AxisCommandKind.Move, -50);

        var move = world.Give("slide", AxisCommandKind.Move, 250);
        world.RunUntil(() => world.Snapshot("slide").Velocity > 100, 3, "at speed");
        world.Board.Latch.RequestHalt(0);
        world.RunUntil(() => world.State("slide") == AxisState.Ready, 3, "stands");
        Assert.Equal(Outcome.Replaced, world.EndOf(move).Outcome);
        world.Do("slide", AxisCommandKind.Move, 0);

        world.Drive("slide").Trip(0x2310);
        world.RunUntil(() => world.State("slide") == AxisState.Faulted, 2, "faulted");
        world.Run(1);
        world.Do("slide", AxisCommandKind.Reset);
        world.Do("slide", AxisCommandKind.Enable);
        world.Do("slide", AxisCommandKind.Move, 20);
    }

    [Fact]
    public void BitDrive_InterlockOpen_StopsAndPowersOff()
    {
        var world = new SimulatedWorld(Machines.Read(Machine, ("bits.drive.json", Drive)), 12);
        world.StartUp();
        world.Do("slide", AxisCommandKind.Home);
        world.Give("slide", AxisCommandKind.Move, 250);
        world.RunUntil(() => world.Snapshot("slide").Velocity > 100, 3, "at speed");
        world.Drive("slide").SetInput("input1", false);
        world.RunUntil(() => world.State("slide") == AxisState.Disabled && !world.Drive("slide").Plant.Powered, 3, "off");
        Assert.Empty(world.Faults);
    }
}

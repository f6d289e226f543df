using Supervisor.Runtime.Stops;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Modules;

/// <summary>Modules of inputs alone and of outputs alone.</summary>
public sealed class HalfModuleTests
{
    [Fact]
    public void Module_OfInputsAlone_IsReadAndTripsItsGuard()
    {
        var world = Start(""" "inputs": { "function": 2, "start": 0, "bits": 8 } """, "module:io/3", "");
        world.RunUntil(() => world.Board.Modules[0].Read().Online, 3, "met");
        world.StartUp();
        world.Run(5);
        Assert.False(world.Board.Latch.IsStanding(StopCauses.Interlock(0)));

        world.Plant.Modules[0].Inputs[3] = false;
        world.RunUntil(() => world.Board.Latch.IsStanding(StopCauses.Interlock(0)), 1, "open");
        Assert.False(world.Board.Modules[0].Read().OutputsReady);
        Assert.Empty(world.Faults);
    }

    [Theory]
    [InlineData(""" "outputs": { "function": 15, "start": 0, "bits": 8 } """, false)]
    [InlineData(""" "outputs": { "function": 16, "start": 0, "bits": 8 }, "communicationTimeout": { "register": 4096, "timeoutMs": 300 } """, true)]
    [InlineData(""" "outputs": { "function": 6, "start": 0, "bits": 8 }, "communicationTimeout": { "register": 4096, "timeoutMs": 300, "fedBy": "write" } """, true)]
    [InlineData(""" "outputs": { "function": 5, "start": 0, "bits": 8, "readBack": "none" }, "communicationTimeout": { "register": 4096, "timeoutMs": 300 } """, true)]
    public void Module_OfOutputsAlone_IsSetFedAndLost(string outputs, bool falls)
    {
        var hold = outputs.Contains("none", StringComparison.Ordinal) ? "off" : "hold";
        var world = Start(outputs, "left.input1", $$"""{ "name": "pump", "output": "module:io/5", "atStop": "hold", "atDisable": "hold", "atFault": "hold", "atStart": "{{hold}}", "atLoss": "{{(falls ? "off" : "hold")}}" }""");
        var pump = world.Board.Outputs.Cells[0];
        world.RunUntil(() => world.Board.Modules[0].Read() is { Online: true, OutputsReady: true }, 3, "met");
        pump.Want(true, pump.Drops);
        world.RunUntil(() => pump.Read() is { Known: true, On: true }, 1, "on");
        world.Run(20);
        Assert.Equal((0, true), (world.Plant.Modules[0].TimedOut, world.Plant.Modules[0].Outputs[5]));
        Assert.Empty(world.Faults);

        world.Plant.Modules[0].IsUnplugged = true;
        world.RunUntil(() => !pump.Read().Known, 2, "lost");
        Assert.False(world.Board.Modules[0].Read().Online);
        world.Run(1);
        world.Plant.Modules[0].Advance(world.Queue.Now);
        Assert.Equal(!falls, world.Plant.Modules[0].Outputs[5]);
    }

    private static SimulatedWorld Start(string bits, string guard, string outputs) => new(
        Machines.Read($$"""
            { "machine": { "name": "Carrier" },
              "ports": [ { "name": "line-a", "device": "/dev/ttyS0", "baud": 115200, "parity": "none", "stopBits": 1, "cycleMs": 20, "gap": "proportional", "responseTimeoutMs": 5, "retries": 1 } ],
              "axes": [ { "name": "left", "port": "line-a", "address": 1, "definition": "reference.drive.json", "unit": "mm", "countsPerUnit": 100, "endless": { "period": 1000 },
                          "limits": { "velocity": 400, "acceleration": 8000, "deceleration": 8000 }, "reference": "none" } ],
              "modules": [ { "name": "io", "port": "line-a", "address": 20, {{bits}} } ],
              "outputs": [ {{outputs}} ],
              "interlocks": [ { "name": "vacuum", "kind": "process", "inputs": ["{{guard}}"], "stopCategory": 2, "axes": "all" } ] }
            """),
        1);
}

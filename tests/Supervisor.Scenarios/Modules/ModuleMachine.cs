using Supervisor.Configuration.Machines;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Outputs;
using Supervisor.Runtime.Stops;
using Supervisor.Scenarios.World;
using Supervisor.Simulation.Modules;

namespace Supervisor.Scenarios.Modules;

/// <summary>Two axes on two ports and a module on the first one, whose input 0 is a guard of both, and whose outputs are a gripper and a lamp.</summary>
internal sealed class ModuleMachine
{
    public const string Coils = """ "function": 15, "start": 0, "bits": 8 """;

    public const string Timeout = """ "communicationTimeout": { "settings": [ { "register": 4100, "value": 3 } ], "register": 4096, "unitMs": 10, "timeoutMs": 200, "start": [ { "register": 4101, "value": 1, "readBack": false } ] } """;

    public ModuleMachine(string inputs = """ "function": 2, "start": 0, "bits": 16 """, string outputs = Coils, string timeout = Timeout, ulong seed = 1, int pollMs = 20)
    {
        World = new SimulatedWorld(Build(inputs, outputs, timeout, pollMs), seed);
        World.FrameBegun = frame => Frames.Add(frame);
    }

    public SimulatedWorld World { get; }

    /// <summary>Every request so far.</summary>
    public List<WireFrame> Frames { get; } = [];

    public SimulatedModule Module
    {
        get
        {
            World.Plant.Modules[0].Advance(World.Queue.Now);
            return World.Plant.Modules[0];
        }
    }

    public OutputCell Gripper => World.Board.Outputs.Cells[0];

    public OutputCell Lamp => World.Board.Outputs.Cells[1];

    public bool IsGuardOpen => World.Board.Latch.IsStanding(StopCauses.Interlock(0));

    public IEnumerable<WireFrame> ToModule => Frames.Where(frame => frame.Unit == Address);

    public const byte Address = 20;

    /// <summary>Drives and module met, the guard reset, both axes enabled.</summary>
    public void StartUp()
    {
        World.StartUp();
        World.RunUntil(() => World.Board.Modules[0].Read() is { Online: true, OutputsReady: true }, 3, "the module is met");
        World.ResetInterlocks();
        World.Do("left", AxisCommandKind.Enable);
        World.Do("right", AxisCommandKind.Enable);
    }

    public int Told(FaultCode code) => World.Faults.Count(fault => fault.Code == code && fault is { Module: 0, Axis: -1, Port: 0 });

    public void Set(OutputCell cell, bool on)
    {
        cell.Want(on, cell.Drops);
        World.RunUntil(() => cell.Read() is { Known: true } reading && reading.On == on && reading.Acknowledged == cell.Order.Number, 3, "the order is confirmed");
    }

    private static MachineDefinition Build(string inputs, string outputs, string timeout, int pollMs) => Machines.Read(
        $$"""
        { "machine": { "name": "Two carriers" },
          "ports": [
            { "name": "line-a", "device": "/dev/ttyS0", "baud": 115200, "parity": "none", "stopBits": 1, "cycleMs": 20, "gap": "proportional", "responseTimeoutMs": 5, "retries": 1 },
            { "name": "line-b", "device": "/dev/ttyS1", "baud": 115200, "parity": "none", "stopBits": 1, "cycleMs": 20, "gap": "proportional", "responseTimeoutMs": 5, "retries": 1 } ],
          "axes": [ {{Axis("left", "line-a")}}, {{Axis("right", "line-b")}} ],
          "modules": [ { "name": "io", "port": "line-a", "address": {{Address}}, "pollMs": {{pollMs}}, "inputs": { {{inputs}} }, "outputs": { {{outputs}} }{{(timeout.Length > 0 ? "," : "")}}{{timeout}} } ],
          "outputs": [ {{Output("gripper", 2, outputs, timeout)}}, {{Output("lamp", 7, outputs, timeout)}} ],
          "interlocks": [ { "name": "guard", "kind": "guard", "inputs": ["module:io/0"], "stopCategory": 1, "axes": "all", "resetInput": "module:io/1" } ] }
        """);

    private static string Output(string name, int bit, string outputs, string timeout) =>
        $$"""
        { "name": "{{name}}", "output": "module:io/{{bit}}", "atStop": "hold", "atDisable": "hold", "atFault": "hold",
          "atStart": "{{(outputs.Contains("none", StringComparison.Ordinal) ? "off" : "hold")}}", "atLoss": "{{(timeout.Length > 0 ? "off" : "hold")}}" }
        """;

    private static string Axis(string name, string port) =>
        $$"""
        { "name": "{{name}}", "port": "{{port}}", "address": 1, "definition": "reference.drive.json", "unit": "mm", "countsPerUnit": 100, "endless": { "period": 1000 },
          "limits": { "velocity": 400, "acceleration": 8000, "deceleration": 8000 }, "inPosition": { "window": 0.5, "dwellMs": 10 }, "reference": "none", "communicationTimeoutMs": 250 }
        """;
}

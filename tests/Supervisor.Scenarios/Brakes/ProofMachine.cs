using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Brakes;

/// <summary>A machine whose axes prove their brakes: both codings, with and without a load.</summary>
internal static class ProofMachine
{
    /// <summary>Homed, ready, in the middle of its way.</summary>
    public static SimulatedWorld Ready(ulong seed, string coding = "cia402", bool hasLoad = true, bool interlocks = true, string reaction = "quickStopThenOff")
    {
        var world = new SimulatedWorld(Build(coding, 1, hasLoad, interlocks, reaction), seed);
        world.StartUp();
        world.Do("slide", AxisCommandKind.Home);
        world.Do("slide", AxisCommandKind.Move, 60);
        return world;
    }

    public static MachineDefinition Build(string coding = "cia402", int axes = 1, bool hasLoad = true, bool interlocks = true, string reaction = "quickStopThenOff")
    {
        const string Torque = """, { "name": "torque", "register": 6, "type": "s16", "scale": 0.1 }, { "name": "errorCode", "register": 7, "type": "u16" }""";
        const string Holding = """, { "name": "torqueLimit", "register": 74, "type": "u16", "scale": 0.1 }, { "name": "brakeOutput", "register": 75, "type": "u16" }""";
        const string Proof = """ "brake": { "releaseMs": 80, "closeMs": 60, "proof": { "torque": 60, "forMs": 500, "movement": 0.2 } }, """;
        const string Load = """ "gravityLoaded": true, "gravityTorque": 12, """;
        var axis = new OneAxis
        {
            Feedback = OneAxis.Words + Torque,
            Command = OneAxis.Commands + Holding,
            Extra = new OneAxis().Extra.Replace("quickStopThenOff", reaction, StringComparison.Ordinal) + """, "holdBrake": "brakeOutput.0" """,
            Interlocks = !interlocks ? "" : """
                { "name": "guard", "kind": "process", "inputs": ["slide.input1"], "stopCategory": 1, "axes": "all" },
                { "name": "drop", "kind": "process", "inputs": ["slide.input1"], "stopCategory": 0, "axes": "all" },
                { "name": "pause", "kind": "process", "inputs": ["slide.input1"], "stopCategory": 2, "axes": "all" }
                """,
            Axis = (hasLoad ? Load : "") + Proof + OneAxis.Homing,
            Axes = axes,
        };
        return (coding == "cia402" ? axis : axis with
        {
            States = """ "states": { "powered": "statusword.0", "inPosition": "statusword.1", "referenced": "statusword.2", "fault": "statusword.3", "moving": "statusword.4" }, "commands": { "power": "controlword.0", "go": "controlword.1 rising", "stop": "controlword.2", "findReference": "controlword.3 rising", "clearFault": "controlword.4 rising" } """,
        }).Build();
    }
}

namespace Supervisor.Scenarios.Stories.Extras;

/// <summary>Invented drives with what the plain ones lack: a bit that holds the brake, outputs, parameters that are kept, keys that unlock them.</summary>
internal static class ExtraDrives
{
    /// <summary>CiA 402 words with a held brake, outputs that can be read back, and parameters of every kind: stored, saved, forgotten.</summary>
    public const string Full = """
        { "name": "Full words", "protocol": "modbusRtu",
          "wire": { "read": { "function": 3, "maxRegisters": 32 }, "write": { "function": 16, "maxRegisters": 32 }, "readWrite": { "function": 23 }, "turnaroundMs": 0.2, "busyExceptions": [6] },
          "states": "cia402",
          "feedback": [ { "name": "statusword", "register": 0, "type": "u16" }, { "name": "position", "register": 1, "type": "s32" },
                        { "name": "velocity", "register": 3, "type": "s32" }, { "name": "torque", "register": 5, "type": "s16", "scale": 0.1 },
                        { "name": "errorCode", "register": 6, "type": "u16" }, { "name": "digitalInputs", "register": 7, "type": "u16" } ],
          "command": [ { "name": "controlword", "register": 64, "type": "u16" }, { "name": "mode", "register": 65, "type": "s16" },
                       { "name": "targetPosition", "register": 66, "type": "s32" }, { "name": "profileVelocity", "register": 68, "type": "u32" },
                       { "name": "profileAcceleration", "register": 70, "type": "u32" }, { "name": "profileDeceleration", "register": 72, "type": "u32" },
                       { "name": "torqueLimit", "register": 74, "type": "u16", "scale": 0.1 }, { "name": "brakeOutput", "register": 75, "type": "u16" },
                       { "name": "digitalOutputs", "register": 76, "type": "u16", "readBack": true } ],
          "parameters": [ { "name": "communicationTimeout", "register": 128, "type": "u16", "unit": "ms" }, { "name": "uptime", "register": 130, "type": "u32", "unit": "ms", "access": "read" },
                          { "name": "serialNumber", "register": 132, "type": "u32", "access": "read" }, { "name": "homed", "register": 134, "type": "u16", "access": "read" },
                          { "name": "gain", "register": 148, "type": "u16", "unit": "1/s", "scale": 0.1, "stored": true }, { "name": "loop", "register": 150, "type": "u16", "unit": "%" },
                          { "name": "filter", "register": 152, "type": "s32" }, { "name": "damping", "register": 154, "type": "u16", "stored": true } ],
          "saveParameters": { "register": 160, "type": "u32", "value": 1702257011, "busyMs": 200 },
          "inputs": { "input1": "digitalInputs.0", "input2": "digitalInputs.1", "input3": "digitalInputs.2" },
          "outputs": { "output1": "digitalOutputs.0", "output2": "digitalOutputs.1" },
          "holdBrake": "brakeOutput.0",
          "communicationTimeout": { "fedBy": "anyFrame", "reaction": "quickStopThenOff", "outputs": "hold" } }
        """;

    /// <summary>Single bits with torque and a held brake, locked until two keys were written.</summary>
    public const string Keyed = """
        { "name": "Keyed bits", "protocol": "modbusRtu",
          "wire": { "read": { "function": 3, "maxRegisters": 16 }, "write": { "function": 16, "maxRegisters": 16 }, "wordOrder": "lowFirst", "firstRegister": 1 },
          "states": { "powered": "status.0", "inPosition": "status.1", "referenced": "status.2", "fault": "status.3", "moving": "status.4" },
          "commands": { "power": "command.0", "go": "command.1 rising", "stop": "command.2", "findReference": "command.3 rising", "clearFault": "command.4 rising" },
          "feedback": [ { "name": "status", "register": 200, "type": "u16" }, { "name": "position", "register": 201, "type": "s32" },
                        { "name": "velocity", "register": 203, "type": "s32" }, { "name": "torque", "register": 205, "type": "s16", "scale": 0.1 },
                        { "name": "digitalInputs", "register": 206, "type": "u16" } ],
          "command": [ { "name": "command", "register": 100, "type": "u16" }, { "name": "targetPosition", "register": 101, "type": "s32" },
                       { "name": "profileVelocity", "register": 103, "type": "u32" }, { "name": "profileAcceleration", "register": 105, "type": "u32" },
                       { "name": "profileDeceleration", "register": 107, "type": "u32" }, { "name": "torqueLimit", "register": 109, "type": "u16", "scale": 0.1 },
                       { "name": "brakeOutput", "register": 110, "type": "u16" } ],
          "inputs": { "input1": "digitalInputs.0", "input2": "digitalInputs.1", "input3": "digitalInputs.2" },
          "holdBrake": "brakeOutput.0",
          "unlock": { "writes": [ { "register": 301, "value": 4660 }, { "register": 301, "value": 22136 } ], "unlocked": "status.8", "stopWhileLocked": true },
          "communicationTimeout": { "fedBy": "anyFrame", "reaction": "quickStopThenOff" },
          "parameters": [ { "name": "communicationTimeout", "register": 310, "type": "u16", "unit": "ms" } ] }
        """;
}

namespace Supervisor.Scenarios.Stories;

/// <summary>Invented drives with other register maps than the demo's: what a supervisor must cope with.</summary>
internal static class RandomDrives
{
    /// <summary>CiA 402 written two registers at a time, low words first, input registers counted from 1, a mode display, a refresh, an uptime in whole seconds.</summary>
    public const string Plain = """
        { "name": "Plain words", "protocol": "modbusRtu",
          "wire": { "read": { "function": 4, "maxRegisters": 12 }, "write": { "function": 16, "maxRegisters": 2 }, "wordOrder": "lowFirst", "firstRegister": 1, "turnaroundMs": 0.5, "busyExceptions": [5, 6] },
          "states": "cia402",
          "feedback": [ { "name": "statusword", "register": 101, "type": "u16" }, { "name": "modeDisplay", "register": 102, "type": "s16" },
                        { "name": "position", "register": 103, "type": "s32" }, { "name": "velocity", "register": 105, "type": "s32" },
                        { "name": "torque", "register": 107, "type": "s16", "scale": 0.1 }, { "name": "errorCode", "register": 108, "type": "u16" },
                        { "name": "digitalInputs", "register": 109, "type": "u16" } ],
          "command": [ { "name": "controlword", "register": 201, "type": "u16" }, { "name": "mode", "register": 202, "type": "s16" },
                       { "name": "targetPosition", "register": 203, "type": "s32" }, { "name": "profileVelocity", "register": 205, "type": "u32" },
                       { "name": "profileAcceleration", "register": 207, "type": "u32" }, { "name": "profileDeceleration", "register": 209, "type": "u32" },
                       { "name": "torqueLimit", "register": 211, "type": "u16", "scale": 0.1 } ],
          "inputs": { "input1": "digitalInputs.0", "input2": "digitalInputs.1", "input3": "digitalInputs.2" },
          "batteryAlarm": "digitalInputs.7",
          "communicationTimeout": { "fedBy": "anyFrame", "reaction": "quickStopThenOff" },
          "parameters": [ { "name": "communicationTimeout", "register": 301, "type": "u16", "unit": "ms" }, { "name": "uptime", "register": 302, "type": "u16", "unit": "ms", "scale": 1000, "access": "read" },
                          { "name": "serialNumber", "register": 303, "type": "u32", "access": "read" }, { "name": "homed", "register": 305, "type": "u16", "access": "read" } ],
          "refreshMs": 700 }
        """;

    /// <summary>Single bits, no torque told, blocks that are read one by one.</summary>
    public const string Bits = """
        { "name": "Bits", "protocol": "modbusRtu",
          "wire": { "read": { "function": 3, "maxRegisters": 8 }, "write": { "function": 16, "maxRegisters": 8 }, "wordOrder": "lowFirst", "firstRegister": 1 },
          "states": { "powered": "status.0", "inPosition": "status.1", "referenced": "status.2", "fault": "status.3", "moving": "status.4" },
          "commands": { "power": "command.0", "go": "command.1 rising", "stop": "command.2", "findReference": "command.3 rising", "clearFault": "command.4 rising" },
          "feedback": [ { "name": "status", "register": 200, "type": "u16" }, { "name": "position", "register": 201, "type": "s32" },
                        { "name": "velocity", "register": 210, "type": "s32" }, { "name": "digitalInputs", "register": 212, "type": "u16" } ],
          "command": [ { "name": "command", "register": 100, "type": "u16" }, { "name": "targetPosition", "register": 101, "type": "s32" },
                       { "name": "profileVelocity", "register": 103, "type": "u32" }, { "name": "profileAcceleration", "register": 120, "type": "u32" },
                       { "name": "profileDeceleration", "register": 122, "type": "u32" } ],
          "inputs": { "input1": "digitalInputs.0", "input2": "digitalInputs.1", "input3": "digitalInputs.2" },
          "communicationTimeout": { "fedBy": "anyFrame", "reaction": "quickStopThenOff" },
          "parameters": [ { "name": "communicationTimeout", "register": 300, "type": "u16", "unit": "ms" } ] }
        """;
}

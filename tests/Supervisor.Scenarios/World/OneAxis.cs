using Supervisor.Configuration.Machines;

namespace Supervisor.Scenarios.World;

/// <summary>A machine of one axis, or of several alike, with a register map of its own: what differs between scenarios is given, the rest is plain.</summary>
public sealed record OneAxis
{
    public const string Words =
        """{ "name": "statusword", "register": 0, "type": "u16" }, { "name": "position", "register": 1, "type": "s32" }, { "name": "velocity", "register": 3, "type": "s32" }, { "name": "digitalInputs", "register": 5, "type": "u16" }""";

    public const string Commands =
        """{ "name": "controlword", "register": 64, "type": "u16" }, { "name": "mode", "register": 65, "type": "s16" }, { "name": "targetPosition", "register": 66, "type": "s32" }, { "name": "profileVelocity", "register": 68, "type": "u32" }, { "name": "profileAcceleration", "register": 70, "type": "u32" }, { "name": "profileDeceleration", "register": 72, "type": "u32" }""";

    public const string Parameters =
        """{ "name": "communicationTimeout", "register": 128, "type": "u16", "unit": "ms" }, { "name": "uptime", "register": 130, "type": "u32", "unit": "ms", "access": "read" }, { "name": "serialNumber", "register": 132, "type": "u32", "access": "read" }, { "name": "homed", "register": 134, "type": "u16", "access": "read" }""";

    public const string Homing = """ "homing": { "method": 17, "fast": 40, "slow": 5, "offset": 0, "timeoutMs": 20000, "order": 1 }, "reference": "incremental" """;

    public const string Endless = """ "endless": { "period": 360 }, "reference": "none" """;

    public string Wire { get; init; } = """ "read": { "function": 3, "maxRegisters": 32 }, "write": { "function": 16, "maxRegisters": 32 } """;

    public string States { get; init; } = "\"states\": \"cia402\"";

    public string Feedback { get; init; } = Words;

    public string Command { get; init; } = Commands;

    public string Plain { get; init; } = Parameters;

    /// <summary>Parameters besides the plain ones, each with a comma before it.</summary>
    public string MoreParameters { get; init; } = "";

    public string Extra { get; init; } = "\"communicationTimeout\": { \"fedBy\": \"anyFrame\", \"reaction\": \"quickStopThenOff\" }";

    public string Line { get; init; } = """ "baud": 115200, "parity": "none", "stopBits": 1, "gap": "standard" """;

    public string Port { get; init; } = """ "cycleMs": 40, "responseTimeoutMs": 15, "retries": 1 """;

    public string Limits { get; init; } = """ "position": [0, 200], "velocity": 200, "acceleration": 1500, "deceleration": 1500 """;

    public string Axis { get; init; } = Homing;

    public double CountsPerUnit { get; init; } = 1000;

    public double Window { get; init; } = 0.1;

    public string Interlocks { get; init; } = "";

    public int Axes { get; init; } = 1;

    /// <summary>False: the axes leave their communication time-out to its default, as for drives without one.</summary>
    public bool CommunicationTimeout { get; init; } = true;

    public MachineDefinition Build() => Machines.Read(
        $$"""
        { "machine": { "name": "Carriers" },
          "ports": [ { "name": "line-a", "device": "/dev/ttyS0", {{Line}}, {{Port}} } ],
          "axes": [ {{string.Join(",\n", Enumerable.Range(1, Axes).Select(AxisEntry))}} ],
          "interlocks": [ {{Interlocks}} ] }
        """,
        ("own.drive.json",
        $$"""
        { "name": "Own drive", "protocol": "modbusRtu", "wire": { {{Wire}} }, {{States}},
          "feedback": [ {{Feedback}} ], "command": [ {{Command}} ], "parameters": [ {{Plain}}{{MoreParameters}} ],
          "inputs": { "input1": "digitalInputs.0" }, {{Extra}} }
        """));

    private string AxisEntry(int number) =>
        $$"""
        { "name": "{{(number == 1 ? "slide" : $"slide{number}")}}", "port": "line-a", "address": {{number}}, "definition": "own.drive.json", "unit": "mm",
          "countsPerUnit": {{CountsPerUnit}}, "limits": { {{Limits}} }, "inPosition": { "window": {{Window}}, "dwellMs": 20 }, {{(!CommunicationTimeout || Axis.Contains("communicationTimeoutMs", StringComparison.Ordinal) ? "" : "\"communicationTimeoutMs\": 400, ")}}{{Axis}} }
        """;
}

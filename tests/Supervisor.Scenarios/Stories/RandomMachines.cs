using System.Globalization;
using System.Text;
using Supervisor.Configuration.Machines;
using Supervisor.Scenarios.Stories.Extras;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Stories;

/// <summary>Invents a machine file: drives of several kinds, axes with and without ends, brakes, groups, recoveries, interlocks of every stop category.</summary>
/// <param name="dice">Decides it.</param>
/// <param name="extras">What it has besides; null: nothing.</param>
public sealed class RandomMachines(Dice dice, MachineExtras? extras)
{
    private static readonly string[] Drives = ["reference", "plain", "bits"];
    private static readonly string[] Classes = ["link", "restart", "supply", "temperature", "timeOut\", \"following", "drive"];
    private const int BitsTimeoutMs = 290;
    private readonly StringBuilder _file = new();

    /// <summary>Writes one and reads it as a user's file is read.</summary>
    public MachineDefinition Make(int axes)
    {
        var ports = axes == 1 ? 1 : 1 + dice.Below(2);
        extras?.Begin(ports);
        _file.Append("{ \"machine\": { \"name\": \"Invented\" }, ");
        Add(dice.Chance(0.7) ? $$""" "authority": { "refreshWithinMs": {{dice.Pick([1000, 2500])}}, "onLapse": "{{dice.Pick(["stop", "finish"])}}" }, """ : "");
        _file.Append("\"ports\": [");
        for (var port = 0; port < ports; port++)
        {
            Add($$"""{ "name": "line-{{port}}", "device": "/dev/ttyS{{port}}", "baud": {{dice.Pick([115200, 230400])}}, "parity": "none", "stopBits": 1, "cycleMs": {{CycleMs(axes, ports, port)}}, "gap": "{{dice.Pick(["standard", "proportional"])}}", "responseTimeoutMs": 15, "retries": {{dice.Below(3)}} }, """);
        }

        _file.Append("], \"axes\": [");
        for (var axis = 0; axis < axes; axis++)
        {
            AddAxis(axis, axis % ports, axes, CycleMs(axes, ports, axis % ports));
        }

        _file.Append("], \"interlocks\": [");
        AddInterlocks(axes);
        Add(extras?.Interlocks(axes) ?? "");
        _file.Append(']');
        Add(extras?.Members(axes, port => CycleMs(axes, ports, port)) ?? "");
        _file.Append(" }");
        return Machines.Read(_file.ToString(), [("plain.drive.json", RandomDrives.Plain), ("bits.drive.json", RandomDrives.Bits), .. MachineExtras.Definitions]);
    }

    private void AddAxis(int axis, int port, int axes, int cycleMs)
    {
        var drive = dice.Pick(Drives);

        // A drive of single bits needs a short time-out, see below; a line of many axes can't have one.
        drive = drive == "bits" && LeastTimeoutMs(cycleMs) > BitsTimeoutMs ? "plain" : drive;
        drive = extras?.Drive(axis, drive) ?? drive;
        var velocity = dice.Pick([80.0, 250, 600]);
        var ramp = velocity * dice.Between(2, 8);
        var isEndless = dice.Chance(0.3);
        var isHomed = !isEndless || dice.Chance(0.3);
        var hasTorque = drive is not ("bits" or "keyed") && dice.Chance(0.5);
        Add($$"""{ "name": "axis-{{axis}}", "port": "line-{{port}}", "address": {{1 + axis}}, "definition": "{{drive}}.drive.json", "unit": "mm", "countsPerUnit": {{dice.Pick([100, 500, 1000])}}, """);
        var isInverted = dice.Chance(0.3);
        var travel = isEndless ? 0 : dice.Pick([180, 400, 820]);
        if (!isEndless)
        {
            extras?.NoteTravel(axis, travel);
        }

        Add($$""" "inverted": {{(isInverted ? "true" : "false")}}, "limits": { {{(isEndless ? "" : $"\"position\": [0, {travel}], ")}}"velocity": {{velocity}}, "acceleration": {{ramp}}, "deceleration": {{ramp}} }, """);
        Add(isEndless ? $$""" "endless": { "period": {{dice.Pick([360, 1000])}} }, """ : "");
        Add(isHomed
            ? $$""" "reference": "{{(drive == "plain" && !isEndless && dice.Chance(0.5) ? "absolute" : "incremental")}}", "homing": { "method": {{dice.Pick<int>(isEndless ? [23, 24, 27] : [17, 18, 23, 24, 27, 1, 2])}}, "fast": {{velocity / 5}}, "slow": {{velocity / 50}}, "offset": {{(isEndless ? 0 : dice.Pick([0, 5]))}}, "timeoutMs": 30000, "order": {{Order(axis)}} }, """
            : """ "reference": "none", """);
        Add(hasTorque ? """ "torque": { "homing": 60, "moving": 120, "holding": 80, "contact": 25, "stopping": 150 }, """ : "");
        var brake = dice.Chance(0.3) ? """ "gravityLoaded": true, "brake": { "releaseMs": 80, "closeMs": 60 }, """ : "";
        Add(extras?.Brake(drive, velocity) ?? brake);
        Add(extras?.Parameters(drive) ?? "");
        Add(hasTorque && dice.Chance(0.5) ? $$""" "heating": { "timeConstantS": {{dice.Pick([10, 60])}}, "continuousTorque": {{dice.Pick([6, 12, 40])}}, "warnAt": 80 }, """ : "");
        Add(axes > 2 && dice.Chance(0.4) ? $$""" "enablingInput": "axis-{{1 + dice.Below(axes - 2)}}.input2", """ : "");
        Add(dice.Chance(0.5) ? $$""" "group": "{{dice.Pick(["upper", "lower"])}}", """ : "");
        Add(dice.Chance(0.6) ? $$""" "recovery": [ { "faults": ["{{dice.Pick(Classes)}}"], "attempts": {{1 + dice.Below(3)}}, "withinMs": 60000, "then": "{{dice.Pick<string>(isHomed ? ["reset", "resetAndEnable", "resetAndHome"] : ["reset", "resetAndEnable"])}}" } ], """ : "");

        // A drive of single bits that starts again sooner than its time-out would take its standing power bit for a new one:
        // such a drive can't be told from one that was only not heard.
        Add($$""" "inPosition": { "window": {{velocity / 1000}}, "dwellMs": 20 }, "communicationTimeoutMs": {{(drive is "bits" or "keyed" ? BitsTimeoutMs : Math.Max(LeastTimeoutMs(cycleMs), dice.Pick([400, 600, 1000])))}} }, """);
    }

    /// <summary>Of a machine that may have zones no two are homed at once.</summary>
    private int Order(int axis) => 1 + (dice.Below(3) is var drawn && extras is null ? drawn : axis);

    private int CycleMs(int axes, int ports, int port) => 20 + ((((axes + ports - 1 - port) / ports) + (extras?.ModulesOn(port) ?? 0)) * 15);

    /// <summary>What a machine file asks for: three cycles and 50 ms.</summary>
    private static int LeastTimeoutMs(int cycleMs) => (3 * cycleMs) + 50;

    private void AddInterlocks(int axes)
    {
        string Reset() => $"axis-{dice.Below(axes)}.input3";
        var button = Reset();
        Add($$"""{ "name": "emergency stop", "kind": "emergencyStop", "inputs": ["axis-0.input1", "axis-0.input2"], "discrepancyMs": 200, "stopCategory": {{dice.Below(2)}}, "axes": "all", "resetInput": "{{button}}" }, """);
        if (axes > 1)
        {
            Add($$"""{ "name": "guard", "kind": "guard", "inputs": ["axis-1.input1"], "stopCategory": {{dice.Below(3)}}, "axes": [{{string.Join(", ", dice.Some(axes).Select(axis => $"\"axis-{axis}\""))}}], "resetInput": "{{(dice.Chance(0.5) ? button : Reset())}}" }, """);
            Add($$"""{ "name": "pressure", "kind": "process", "inputs": ["axis-{{axes - 1}}.input2"], "tripDelayMs": {{dice.Pick([0, 100, 500])}}, "stopCategory": {{dice.Below(3)}}, "axes": [{{string.Join(", ", dice.Some(axes).Select(axis => $"\"axis-{axis}\""))}}] }, """);
        }
    }

    private void Add(string text) => _file.Append(CultureInfo.InvariantCulture, $"{text}");
}

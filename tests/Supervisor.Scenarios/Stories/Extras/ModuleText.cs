using System.Globalization;

namespace Supervisor.Scenarios.Stories.Extras;

/// <summary>Invents modules and named outputs in the words of a machine file.</summary>
internal sealed class ModuleText(Dice dice)
{
    private const int FirstAddress = 40;
    private readonly List<(int Port, bool FallsOff)> _modules = [];

    /// <summary>Draws which ports have one; before anything else is asked.</summary>
    public void Draw(int ports)
    {
        for (var port = 0; port < ports; port++)
        {
            if (dice.Chance(0.4))
            {
                _modules.Add((port, dice.Chance(0.7)));
            }
        }
    }

    /// <summary>Modules on a port.</summary>
    public int On(int port) => _modules.Count(module => module.Port == port);

    /// <summary>The modules, as a member of the file.</summary>
    public string Members(Func<int, int> cycleMs) => _modules.Count == 0 ? "" : $", \"modules\": [ {string.Join(", ", _modules.Select((_, index) => Module(index, cycleMs(_modules[index].Port))))} ]";

    /// <summary>Interlocks on their inputs, to go behind others.</summary>
    public string Interlocks(int axes) => _modules.Count == 0 || dice.Chance(0.3) ? "" : string.Create(
        CultureInfo.InvariantCulture,
        $$"""{ "name": "air", "kind": "process", "inputs": ["module:io-{{dice.Below(_modules.Count)}}/0"], "tripDelayMs": {{dice.Pick([0, 200])}}, "stopCategory": {{dice.Below(3)}}, "axes": [{{string.Join(", ", dice.Some(axes).Select(axis => $"\"axis-{axis}\""))}}] }, """);

    /// <summary>Named outputs of modules and of the drives that have such, as a member of the file.</summary>
    public string Outputs(IReadOnlyList<int> drives, int axes)
    {
        var places = _modules.SelectMany((module, index) => new[] { (Place: $"module:io-{index}/2", Loss: module.FallsOff ? "off" : "hold"), (Place: $"module:io-{index}/5", Loss: module.FallsOff ? "off" : "hold") })
            .Concat(drives.Select(axis => (Place: $"axis-{axis}.output{1 + dice.Below(2)}", Loss: "hold")))
            .Where(_ => dice.Chance(0.7)).ToArray();
        return places.Length == 0 ? "" : $", \"outputs\": [ {string.Join(", ", places.Select((place, index) => Output(index, place.Place, place.Loss, axes)))} ]";
    }

    private string Module(int index, int cycleMs)
    {
        var falls = _modules[index].FallsOff;
        var outputs = dice.Pick([""" "function": 15, "start": 0, "bits": 8 """, """ "function": 5, "start": 16, "bits": 8 """, """ "function": 16, "start": 512, "bits": 24 """]);
        var timeout = $$""" "communicationTimeout": { "settings": [ { "register": 4100, "value": 3 } ], "register": 4096, "unitMs": 10, "timeoutMs": {{600 + (dice.Below(3) * 200)}}, "reaction": "{{(falls ? "off" : "hold")}}", "start": [ { "register": 4101, "value": 1, "readBack": false } ] } """;
        return string.Create(
            CultureInfo.InvariantCulture,
            $$"""{ "name": "io-{{index}}", "port": "line-{{_modules[index].Port}}", "address": {{FirstAddress + index}}, "pollMs": {{cycleMs}}, "inputs": { "function": 2, "start": 0, "bits": 16 }, "outputs": { {{outputs}} }{{(falls || dice.Chance(0.5) ? "," + timeout : "")}} }""");
    }

    private string Output(int index, string place, string loss, int axes)
    {
        string State() => dice.Pick(["hold", "hold", "off", "on"]);
        return $$"""{ "name": "out-{{index}}", "output": "{{place}}", "axes": [{{string.Join(", ", dice.Some(axes).Select(axis => $"\"axis-{axis}\""))}}], "atStop": "{{State()}}", "atDisable": "{{State()}}", "atFault": "{{State()}}", "atStart": "{{dice.Pick(["hold", "off"])}}", "atLoss": "{{loss}}" }""";
    }
}

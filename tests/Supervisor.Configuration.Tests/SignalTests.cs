using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Signals;
using Supervisor.Records.Faults;

namespace Supervisor.Configuration.Tests;

/// <summary>Signal lights and horn of a machine file: good ones, then each with one thing wrong that gives exactly that error.</summary>
public sealed class SignalTests
{
    private const string Good =
        """
        languages = ["en", "de"]
        modules = [ { "name": "io", "port": "line-a", "address": 20, "pollMs": 80, "outputs": { "function": 15, "start": 0, "bits": 8 } } ]
        signals = { "lights": [], "horn": { "output": "module:io/7", "soundsFrom": "medium", "longestMs": 30000, "silenceInput": "gantry.input2", "atLoss": "hold" } }
        signals.lights[0] = { "name": "danger", "output": "gpio:soc-gpio/5", "activeLow": true, "colour": "red", "text": "Keep away", "texts": { "de": "Fernbleiben" }, "steadyWhile": ["emergencyStop", "highAlarm"], "flashingWhile": ["newHighAlarm"], "flashHz": 2.5, "atLoss": "off" }
        signals.lights[1] = { "name": "trouble", "output": "module:io/0", "colour": "yellow", "text": "Trouble", "texts": { "de": "Störung" }, "flashingWhile": ["newMediumAlarm"], "atLoss": "hold" }
        signals.lights[2] = { "name": "running", "output": "dibber.output1", "colour": "green", "text": "Running", "texts": { "de": "Läuft" }, "steadyWhile": ["ready", "moving"], "atLoss": "off" }
        """;

    private const string DriveOutputs =
        """
        command[7] = { "name": "digitalOutputs", "register": 80, "type": "u16" }
        outputs = { "output1": "digitalOutputs.0" }
        """;

    [Fact]
    public void Read_Signals_AreWhatTheFileSays()
    {
        var (errors, machine) = Read("");

        Assert.Empty(errors);
        var (lights, horn) = (machine!.Signals.Lights, machine.Signals.Horn!);
        Assert.Equal(
            (SignalColour.Red, SignalStates.EmergencyStop | SignalStates.HighAlarm, SignalStates.NewHighAlarm, 2.5, true, OutputState.Off),
            (lights[0].Colour, lights[0].Steady, lights[0].Flashing, lights[0].FlashHz, lights[0].Output.ActiveLow, lights[0].AtLoss));
        Assert.Equal(["Keep away", "Fernbleiben"], lights[0].Texts);
        Assert.Equal((2.0, SignalStates.None), (lights[1].FlashHz, lights[1].Steady));
        Assert.Equal((FaultPriority.Medium, TimeSpan.FromSeconds(30), "gantry.input2"), (horn.From, horn.Longest, horn.SilenceInput!.Text));
        Assert.Equal(TimeSpan.FromSeconds(5), machine.Signals.LampTest);
        Assert.Equal(["light danger", "light trouble", "light running", "horn"], machine.AllOutputs().Select(output => output.Name));
        Assert.Empty(ColourMeanings.Unusual(machine));
    }

    [Theory]
    [InlineData("signals = []", "signals: an object is expected, found an array")]
    [InlineData("signals.lights[0].name -", "signals.lights[0].name: is missing: name of the light")]
    [InlineData("signals.lights[1].name = \"danger\"", "signals.lights[1].name: light \"danger\" appears twice; first in line 1")]
    [InlineData("signals.lights[0].output -", "signals.lights[0].output: is missing: where it is: AXIS.NAME, gpio:CHIP-LABEL/LINE or module:NAME/BIT")]
    [InlineData("signals.lights[0].output = \"module:io/7\"\nsignals.lights[0].activeLow -\nsignals.lights[0].atLoss = \"hold\"\nsignals.lights[0].flashingWhile -\nsignals.lights[0].flashHz -", "signals.horn.output: \"module:io/7\" is already used in line 1; an output does one thing")]
    [InlineData("alive = { \"output\": \"gpio:soc-gpio/5\" }", "signals.lights[0].output: \"gpio:soc-gpio/5\" is already used in line 1; an output does one thing")]
    [InlineData("interlocks[2].inputs = [\"gpio:soc-gpio/5\"]", "signals.lights[0].output: \"gpio:soc-gpio/5\" is also an input of this machine; a line is one of the two")]
    [InlineData("signals.lights[1].activeLow = true", "signals.lights[1].activeLow: is for GPIO lines, which \"module:io/0\" is not; take it out, and turn the level round in its device or its wiring")]
    [InlineData("signals.lights[0].colour -", "signals.lights[0].colour: is missing: \"red\", \"yellow\", \"blue\", \"green\" or \"white\"")]
    [InlineData("signals.lights[0].colour = \"orange\"", "signals.lights[0].colour: \"orange\" is none of \"red\", \"yellow\", \"blue\", \"green\", \"white\"")]
    [InlineData("signals.lights[0].text -", "signals.lights[0].text: is missing: what it tells while it is lit: nobody depends on seeing colours")]
    [InlineData("signals.lights[0].texts -", "signals.lights[0].texts.de: is missing: the file's languages are \"en\", \"de\"")]
    [InlineData("signals.lights[0].texts.fr = \"x\"", "signals.lights[0].texts.fr: \"fr\" is none of the file's languages \"en\", \"de\"")]
    [InlineData("signals.lights[2].steadyWhile -", "signals.lights[2].steadyWhile: is missing: the states that light it, or flashingWhile")]
    [InlineData("signals.lights[0].steadyWhile = [\"highAlarms\"]", "signals.lights[0].steadyWhile[0]: \"highAlarms\" is none of \"emergencyStop\", \"interlockOpen\", \"axisFaulted\", \"highAlarm\", \"mediumAlarm\", \"lowAlarm\", \"newHighAlarm\", \"newMediumAlarm\", \"newLowAlarm\", \"personNeeded\", \"ready\", \"moving\", \"production\", \"maintenance\", \"manual\", \"always\"; did you mean \"highAlarm\"?")]
    [InlineData("signals.lights[0].steadyWhile[1] = \"emergencyStop\"", "signals.lights[0].steadyWhile[1]: \"emergencyStop\" is listed twice")]
    [InlineData("signals.lights[0].flashHz = 0.3", "signals.lights[0].flashHz: 0.3 must be 0.4 to 2.8 Hz")]
    [InlineData("signals.lights[0].flashHz = 3", "signals.lights[0].flashHz: 3 must be 0.4 to 2.8 Hz")]
    [InlineData("signals.lights[0].flashHz = 1", "signals.lights[0].flashHz: 1 Hz is neither slow flashing (0.4 to 0.8 Hz) nor normal (1.4 to 2.8 Hz, IEC 60073)")]
    [InlineData("signals.lights[2].flashHz = 2", "signals.lights[2].flashHz: goes with flashingWhile, which is left out")]
    [InlineData("signals.lights[2].flashingWhile = [\"moving\"]", "signals.lights[2].flashingWhile: \"dibber.output1\" is an output of a drive: every edge would write the drive's command registers anew and take the line's time from its axis; let it be steady, or give it a module or a GPIO line")]
    [InlineData("modules[0].pollMs = 160", "signals.lights[1].flashingWhile: at 2 Hz an edge comes every 250 ms, but module \"io\" is written every 160 ms and this is its flashing light number 1: at most 1.04 Hz here")]
    [InlineData("signals.lights[0].colour = \"green\"\nsignals.lights[0].steadyWhile -", "signals.lights[0].flashingWhile[0]: \"newHighAlarm\" contradicts green, which by IEC 60073 tells of a normal condition; give it another light")]
    [InlineData("signals.lights[2].colour = \"red\"\nsignals.lights[2].steadyWhile = [\"ready\"]", "signals.lights[2].steadyWhile[0]: \"ready\" contradicts red, which by IEC 60073 tells of an emergency or a hazard; give it another light")]
    [InlineData("signals.lights[1].atLoss = \"off\"", "signals.lights[1].atLoss: \"off\" contradicts module \"io\", which keeps its outputs for ever: it has no communicationTimeout")]
    [InlineData("signals.lights[0].atLoss -", "signals.lights[0].atLoss: is missing: what it must do when the daemon is lost: \"hold\", \"off\" or \"on\"")]
    [InlineData("signals.horn.output = \"gpio:soc-gpio/6\"\nsignals.horn.atLoss = \"on\"", "signals.horn.atLoss: \"on\" would sound until somebody takes the supply; give \"off\", or \"hold\" where its place can't do otherwise")]
    [InlineData("signals.horn.soundsFrom -", "signals.horn.soundsFrom: is missing: \"low\", \"medium\" or \"high\": the least priority of an alarm for which it sounds")]
    [InlineData("signals.horn.longestMs -", "signals.horn.longestMs: is missing: how long it sounds for one alarm at most")]
    [InlineData("signals.horn.longestMs = 600001", "signals.horn.longestMs: 600001 must be 1000 to 600000 ms")]
    [InlineData("signals.horn.silenceInput = \"gantry.silence\"", "signals.horn.silenceInput: \"gantry.silence\": drive \"Reference drive\" has no input \"silence\"; known: \"input1\", \"input2\", \"input3\"")]
    [InlineData("signals.horn.silenceInput -\nsignals.horn.staleMs = 200", "signals.horn.staleMs: is the age of silenceInput, which is left out")]
    [InlineData("signals.lampTestMs = 100", "signals.lampTestMs: 100 must be 1000 to 60000 ms")]
    public void Read_OneThingWrong_IsToldWhere(string edits, string expected) => Assert.Equal([expected], Read(edits).Errors);

    /// <summary>IEC 60073 (from memory): green is normal, red an emergency, blue an action that is mandatory.</summary>
    [Theory]
    [InlineData("red", "emergencyStop", false, false)]
    [InlineData("red", "mediumAlarm", false, true)]
    [InlineData("red", "lowAlarm", true, false)]
    [InlineData("red", "always", true, false)]
    [InlineData("yellow", "axisFaulted", false, false)]
    [InlineData("yellow", "emergencyStop", false, true)]
    [InlineData("blue", "personNeeded", false, false)]
    [InlineData("blue", "emergencyStop", true, false)]
    [InlineData("green", "production", false, false)]
    [InlineData("green", "axisFaulted", true, false)]
    [InlineData("green", "personNeeded", true, false)]
    [InlineData("white", "maintenance", false, false)]
    [InlineData("white", "highAlarm", false, true)]
    public void Colour_AgainstItsMeaning_IsRefusedOrWarnedOf(string colour, string state, bool refused, bool warned)
    {
        var (errors, machine) = Read($"signals.lights[0].colour = \"{colour}\"\nsignals.lights[0].steadyWhile = [\"{state}\"]\nsignals.lights[0].flashingWhile -\nsignals.lights[0].flashHz -");

        Assert.Equal(refused, errors.Count == 1);
        Assert.Equal(warned, machine is not null && ColourMeanings.Unusual(machine).Count == 1);
    }

    private static (List<string> Errors, MachineDefinition? Machine) Read(string edits)
    {
        using var folder = new TestFolder();
        var drive = EditedJson.Parse(Samples.Example("reference.drive.json"));
        EditedJson.Apply(drive, DriveOutputs);
        folder.Write("reference.drive.json", drive.ToJsonString());
        var json = EditedJson.Parse(Samples.Example("machine.json"));
        EditedJson.Apply(json, Good);
        EditedJson.Apply(json, edits);
        var result = MachineFile.Read(folder.Write("machine.json", json.ToJsonString()));
        return ([.. result.Errors.Select(error => $"{error.Path}: {error.Message}")], result.Value);
    }
}

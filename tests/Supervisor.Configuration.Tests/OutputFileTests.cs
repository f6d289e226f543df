using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Routines;

namespace Supervisor.Configuration.Tests;

/// <summary>Outputs of a machine file: the example with good outputs, then with one thing wrong that gives exactly that one error.</summary>
public sealed class OutputFileTests
{
    private const string Good =
        """
        outputs = []
        outputs[0] = { "name": "gripper", "output": "dibber.output1", "atStop": "hold", "atDisable": "off", "atFault": "on", "atLoss": "off" }
        outputs[1] = { "name": "lamp", "output": "gpio:soc-gpio/5", "axes": ["drum"], "atStop": "on", "atDisable": "hold", "atFault": "on", "atLoss": "hold" }
        powerEnable = { "output": "gpio:soc-gpio/6", "feedback": "gpio:soc-gpio/7" }
        alive = { "output": "gpio:soc-gpio/8" }
        signals = { "lights": [ { "name": "trouble", "output": "gpio:soc-gpio/9", "colour": "yellow", "text": "t", "steadyWhile": ["lowAlarm"], "atLoss": "off" } ] }
        """;

    private const string DriveOutputs =
        """
        command[7] = { "name": "digitalOutputs", "register": 80, "type": "u16" }
        outputs = { "output1": "digitalOutputs.0", "output2": "digitalOutputs.1" }
        """;

    [Fact]
    public void Read_Outputs_AreWhatTheFileSays()
    {
        var (errors, machine) = Read("");

        Assert.Empty(errors);
        var (gripper, lamp) = (machine!.Outputs[0], machine.Outputs[1]);
        Assert.Equal((OutputSource.Drive, machine.AxisIndex("dibber"), 0), (gripper.Place.Source, gripper.Place.Axis, gripper.Place.Output));
        Assert.Equal(
            (OutputState.Hold, OutputState.Off, OutputState.On, OutputState.Off, OutputState.Off),
            (gripper.AtStop, gripper.AtDisable, gripper.AtFault, gripper.AtLoss, gripper.AtStart));
        Assert.Equal(new GpioReference("soc-gpio", "5"), lamp.Place.Gpio);
        Assert.Equal([machine.AxisIndex("drum")], lamp.Axes);
        Assert.Equal(OutputState.Hold, lamp.AtStart);
    }

    [Fact]
    public void Read_ActiveLow_IsTakenAndWarnedOfWhereItLetsAContactorClose()
    {
        var (errors, machine) = Read("outputs[1].activeLow = true\npowerEnable.activeLow = true\nalive.activeLow = false");

        Assert.Empty(errors);
        Assert.Equal((false, true), (machine!.Outputs[0].Place.ActiveLow, machine.Outputs[1].Place.ActiveLow));
        Assert.Equal((true, false), (machine.PowerEnable!.Output.ActiveLow, machine.Alive!.Output.ActiveLow));
        Assert.Contains(OutputPromises.Missing(machine), warning => warning.StartsWith("powerEnable.activeLow:", StringComparison.Ordinal));
        Assert.DoesNotContain(OutputPromises.Missing(Read("").Machine!), warning => warning.StartsWith("powerEnable.activeLow:", StringComparison.Ordinal));
    }

    [Fact]
    public void Read_AxesLeftOut_DrivesOutputFollowsItsGroupAnotherAll()
    {
        var machine = Read("outputs[1].axes -").Machine!;

        Assert.Equal([machine.AxisIndex("dibber"), machine.AxisIndex("gantry")], machine.Outputs[0].Axes);
        Assert.Equal(Enumerable.Range(0, machine.Axes.Count), machine.Outputs[1].Axes);
        Assert.Equal(Enumerable.Range(0, machine.Axes.Count), machine.PowerEnable!.Axes);
    }

    [Fact]
    public void Read_TimesLeftOut_HaveTheDocumentedDefaults()
    {
        var (_, machine) = Read("");

        Assert.Equal((250, 250), (machine!.PowerEnable!.OnWithin.TotalMilliseconds, machine.PowerEnable.OffWithin.TotalMilliseconds));
        Assert.Equal(500, machine.Alive!.Period.TotalMilliseconds);
        var (_, slow) = Read("ports[0].cycleMs = 100\naxes[0].communicationTimeoutMs = 600\npowerEnable.feedback = \"tray.input2\"\ninterlocks[0].discrepancyMs = 200");
        Assert.Equal((400, 800), (slow!.PowerEnable!.OnWithin.TotalMilliseconds, slow.Alive!.Period.TotalMilliseconds));
    }

    [Theory]
    [InlineData("outputs[0].activeLow = true", "outputs[0].activeLow: is for GPIO lines, which \"dibber.output1\" is not; take it out, and turn the level round in its device or its wiring")]
    [InlineData("alive.activeLow = 1", "alive.activeLow: true or false is expected, found the number 1")]
    [InlineData("outputs = {}", "outputs: an array is expected, found an object")]
    [InlineData("outputs[0] = 1", "outputs[0]: an object is expected, found the number 1")]
    [InlineData("outputs[0].name -", "outputs[0].name: is missing: name of the output")]
    [InlineData("outputs[0].name = \"a.b\"", "outputs[0].name: \"a.b\" must not contain '.'")]
    [InlineData("outputs[1].name = \"gripper\"", "outputs[1].name: output \"gripper\" appears twice; first in line 1")]
    [InlineData("outputs[0].output -", "outputs[0].output: is missing: where it is: AXIS.NAME, gpio:CHIP-LABEL/LINE or module:NAME/BIT")]
    [InlineData("outputs[0].output = \"output1\"", "outputs[0].output: \"output1\" is no output; AXIS.NAME, gpio:CHIP-LABEL/LINE or module:NAME/BIT is expected")]
    [InlineData("outputs[0].output = \"diber.output1\"", "outputs[0].output: \"diber.output1\": no axis \"diber\"; did you mean \"dibber\"?")]
    [InlineData("outputs[0].output = \"dibber.output3\"", "outputs[0].output: \"dibber.output3\": drive \"Reference drive\" has no output \"output3\"; did you mean \"output1\"?")]
    [InlineData("outputs[0].output = \"gpio:soc-gpio\"", "outputs[0].output: \"gpio:soc-gpio\" is no GPIO line; gpio:CHIP-LABEL/LINE is expected, such as \"gpio:soc-gpio/17\"")]
    [InlineData("outputs[0].output = \"gpio:soc-gpio/5\"", "outputs[1].output: \"gpio:soc-gpio/5\" is already used in line 1; an output does one thing")]
    [InlineData("alive.output = \"gpio:soc-gpio/6\"", "alive.output: \"gpio:soc-gpio/6\" is already used in line 1; an output does one thing")]
    [InlineData("outputs[1].output = \"gpio:soc-gpio/7\"", "outputs[1].output: \"gpio:soc-gpio/7\" is also an input of this machine; a line is one of the two")]
    [InlineData("interlocks[2].inputs = [\"gpio:soc-gpio/6\"]", "powerEnable.output: \"gpio:soc-gpio/6\" is also an input of this machine; a line is one of the two")]
    [InlineData("outputs[0].axes = [\"drom\"]", "outputs[0].axes[0]: no axis \"drom\"; did you mean \"drum\"?")]
    [InlineData("outputs[0].axes = \"drum\"", "outputs[0].axes: \"all\" or an array of axis names is expected, found the text \"drum\"")]
    [InlineData("outputs[0].atStop -", "outputs[0].atStop: is missing: what it does while one of its axes is stopped: \"hold\", \"off\" or \"on\"")]
    [InlineData("outputs[0].atDisable -", "outputs[0].atDisable: is missing: what it does while one of its axes is disabled: \"hold\", \"off\" or \"on\"")]
    [InlineData("outputs[0].atFault -", "outputs[0].atFault: is missing: what it does while one of its axes is faulted: \"hold\", \"off\" or \"on\"")]
    [InlineData("outputs[0].atLoss -", "outputs[0].atLoss: is missing: what it must do when the daemon is lost: \"hold\", \"off\" or \"on\"")]
    [InlineData("outputs[0].atFault = \"holt\"", "outputs[0].atFault: \"holt\" is none of \"hold\", \"off\", \"on\"; did you mean \"hold\"?")]
    [InlineData("outputs[0].atLoss = \"hold\"", "outputs[0].atLoss: \"hold\" needs the output to be read back at a start, but drive \"Reference drive\" does not declare readBack for field \"digitalOutputs\" of output \"output1\"; declare it if the drive can be read so, or give atStart \"off\"")]
    [InlineData("outputs[0].atStart = \"hold\"", "outputs[0].atStart: \"hold\" needs the output to be read back at a start, but drive \"Reference drive\" does not declare readBack for field \"digitalOutputs\" of output \"output1\"; declare it if the drive can be read so, or give atStart \"off\"")]
    [InlineData("powerEnable.output -", "powerEnable.output: is missing: the output that lets the contactor close: AXIS.NAME, gpio:CHIP-LABEL/LINE or module:NAME/BIT")]
    [InlineData("powerEnable.feedback -", "powerEnable.feedback: is missing: the contactor's mirror contact, closed while the contactor is open")]
    [InlineData("powerEnable.feedback = \"tray.input9\"", "powerEnable.feedback: \"tray.input9\": drive \"Reference drive\" has no input \"input9\"; did you mean \"input1\"?")]
    [InlineData("powerEnable.axes = []", "powerEnable.axes: is empty; a contactor feeds at least one axis")]
    [InlineData("powerEnable.onWithinMs = 0", "powerEnable.onWithinMs: 0 must be above 0 and at most 10000 ms")]
    [InlineData("powerEnable.feedback = \"tray.input2\"\npowerEnable.offWithinMs = 159", "powerEnable.offWithinMs: 159 ms is too short: output and feedback take up to 4 cycles of their line, 160 ms")]
    [InlineData("alive = true", "alive: an object is expected, found true")]
    [InlineData("alive.output -", "alive.output: is missing: the output that toggles: AXIS.NAME, gpio:CHIP-LABEL/LINE or module:NAME/BIT")]
    [InlineData("alive.periodMs = 319", "alive.periodMs: 319 ms is too short: between two edges every port must have stepped and the output been confirmed; at least 320 ms here")]
    [InlineData("alive.periodMs = 10001", "alive.periodMs: 10001 must be above 0 and at most 10000 ms")]
    public void Read_OneThingWrong_IsTheOneError(string edits, string expected) => Assert.Equal([expected], Read(edits).Errors);

    [Theory]
    [InlineData("hold", "off", "outputs[0].atLoss: \"off\" contradicts drive \"Reference drive\", whose communicationTimeout.outputs is \"hold\"; give what the drive does, or use another output")]
    [InlineData("off", "on", "outputs[0].atLoss: \"on\" contradicts drive \"Reference drive\", whose communicationTimeout.outputs is \"off\"; give what the drive does, or use another output")]
    public void Read_LossThatTheDriveDoesOtherwise_IsRefused(string drive, string atLoss, string expected) =>
        Assert.Equal([expected], Read($"outputs[0].atLoss = \"{atLoss}\"", $"communicationTimeout.outputs = \"{drive}\"").Errors);

    [Theory]
    [InlineData("module:io/3", "hold", "hold", "")]
    [InlineData("module:io/valve", "hold", "hold", "")]
    [InlineData("module:io/3", "off", "off", "outputs[0].atLoss: \"off\" contradicts module \"io\", which keeps its outputs for ever: it has no communicationTimeout")]
    [InlineData("module:io/4", "hold", "hold", "outputs[0].output: \"module:io/4\": the module's outputs are 0 to 3")]
    [InlineData("module:oi/1", "hold", "hold", "outputs[0].output: \"module:oi/1\": no module \"oi\"; did you mean \"io\"?")]
    public void Read_ModuleOutput_IsWhatTheModuleDoes(string place, string atStart, string atLoss, string expected)
    {
        var (errors, machine) = Read($"""{Module("")}{'\n'}outputs[0].output = "{place}"{'\n'}outputs[0].atStart = "{atStart}"{'\n'}outputs[0].atLoss = "{atLoss}" """.TrimEnd());

        Assert.Equal(expected.Length > 0 ? [expected] : [], errors);
        Assert.Equal(expected.Length > 0 ? null : new ModuleReference(0, 3), machine?.Outputs[0].Place.Module);
    }

    [Fact]
    public void Read_ModuleOutputByNumberAndByName_IsOnePlace() => Assert.Equal(
        ["alive.output: \"module:io/valve\" is already used in line 1; an output does one thing"],
        Read($"{Module("")}\noutputs[0].output = \"module:io/3\"\noutputs[0].atLoss = \"hold\"\nalive.output = \"module:io/valve\"").Errors);

    [Fact]
    public void Read_HoldOfAModuleThatIsNotReadBack_IsTold() => Assert.Equal(
        ["outputs[0].atLoss: \"hold\" needs the output to be read back at a start, but the outputs of module \"io\" have readBack \"none\"; give atStart \"off\""],
        Read($"{Module(", \"readBack\": \"none\" }, \"inputs\": { \"function\": 2, \"start\": 0, \"bits\": 4")}\noutputs[0].output = \"module:io/3\"\noutputs[0].atLoss = \"hold\"").Errors);

    private static string Module(string more) =>
        $$"""modules = [ { "name": "io", "port": "line-a", "address": 20, "outputs": { "function": 15, "start": 0, "bits": 4, "names": { "valve": 3 }{{more}} } } ]""";

    [Fact]
    public void Read_HoldOfAnOutputThatIsReadBack_IsAccepted() =>
        Assert.Empty(Read("outputs[0].atLoss = \"hold\"", "command[7].readBack = true\ncommunicationTimeout.outputs = \"hold\"").Errors);

    [Fact]
    public void Missing_WhatNothingPromises_IsWarnedOf()
    {
        var warnings = OutputPromises.Missing(Read("powerEnable.output = \"tray.output2\"").Machine!);

        Assert.Equal(4, warnings.Count);
        Assert.Equal(
            "outputs[0].atLoss: \"gripper\" is to go off when the daemon is lost, but drive \"Reference drive\" does not declare communicationTimeout.outputs; measure it: kill the daemon and look",
            warnings[0]);
        Assert.StartsWith("outputs[1].atLoss: \"lamp\" is to hold when the daemon is lost, but a GPIO line (gpio:soc-gpio/5) is then its chip driver's", warnings[1], StringComparison.Ordinal);
        Assert.StartsWith("powerEnable.output: the power should go off when the daemon is lost, but drive", warnings[2], StringComparison.Ordinal);
        Assert.StartsWith("powerEnable.output: tray.output2 is reached by port line-a, as are axes whose stop may fail", warnings[3], StringComparison.Ordinal);
    }

    [Fact]
    public void Missing_DriveThatDeclaresIt_IsNotWarnedOf() => Assert.DoesNotContain(
        OutputPromises.Missing(Read("", "communicationTimeout.outputs = \"off\"").Machine!), warning => warning.StartsWith("outputs[0]", StringComparison.Ordinal));

    [Theory]
    [InlineData("lamp", -1, "lamp")]
    [InlineData("dibber.output1", -1, "gripper")]
    [InlineData("dibber.output2", 0, "output2")]
    public void ReadRoutine_OutputByNameOrPlace_IsTheNamedOne(string text, int axis, string output)
    {
        var (errors, step) = ReadStep(text);

        Assert.Empty(errors);
        Assert.Equal(new SetOutputStep("o", axis, output, true), step);
    }

    [Theory]
    [InlineData("lampe", "steps[0].setOutput.output: no output \"lampe\", and none of a drive, which is named AXIS.NAME; did you mean \"lamp\"?")]
    [InlineData("gpio:soc-gpio/8", "steps[0].setOutput.output: \"gpio:soc-gpio/8\" is the machine's alive output, which no routine sets")]
    [InlineData("gpio:soc-gpio/9", "steps[0].setOutput.output: \"gpio:soc-gpio/9\" is the machine's light trouble, which no routine sets")]
    [InlineData("gpio:soc-gpio/6", "steps[0].setOutput.output: \"gpio:soc-gpio/6\" is the machine's power-enable output, which no routine sets")]
    public void ReadRoutine_OutputThatCantBeSet_IsTold(string text, string expected) => Assert.Equal([expected], ReadStep(text).Errors);

    private static (List<string> Errors, RoutineStep? Step) ReadStep(string output)
    {
        using var folder = new TestFolder();
        var result = RoutineFile.Read(
            folder.Write("r.routine.json", $$"""{ "name": "r", "steps": [ { "name": "o", "setOutput": { "output": "{{output}}", "on": true } } ] }"""), Read("").Machine!);
        return ([.. result.Errors.Select(error => $"{error.Path}: {error.Message}")], result.Value?.Steps[0]);
    }

    private static (List<string> Errors, MachineDefinition? Machine) Read(string edits, string driveEdits = "")
    {
        using var folder = new TestFolder();
        var drive = EditedJson.Parse(Samples.Example("reference.drive.json"));
        EditedJson.Apply(drive, DriveOutputs + "\n" + driveEdits);
        folder.Write("reference.drive.json", drive.ToJsonString());
        var json = EditedJson.Parse(Samples.Example("machine.json"));
        EditedJson.Apply(json, Good);
        EditedJson.Apply(json, edits);
        var result = MachineFile.Read(folder.Write("machine.json", json.ToJsonString()));
        return ([.. result.Errors.Select(error => $"{error.Path}: {error.Message}")], result.Value);
    }
}

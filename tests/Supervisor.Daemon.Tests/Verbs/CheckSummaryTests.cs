using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Verbs;

namespace Supervisor.Daemon.Tests.Verbs;

public sealed class CheckSummaryTests
{
    [Fact]
    public void Print_GpioLinesAndModules_SaysWhatTheyAreFor()
    {
        var demo = SmallMachine.Whole;
        var door = new InputReference("gpio:soc/17", InputSource.Gpio, -1, null, null) { Gpio = new GpioReference("soc", "17") };
        var pump = new OutputReference("gpio:soc/PUMP", OutputSource.Gpio, -1, -1) { Gpio = new GpioReference("soc", "PUMP") };
        var packing = new BitPacking(16, default, default, WordOrder.LowFirst);
        var machine = demo with
        {
            Interlocks = [demo.Interlocks[1] with { Inputs = [door] }],
            Outputs = [new OutputDefinition("pump", pump, [], default, default, default, OutputState.Off, default)],
            Modules =
            [
                new ModuleDefinition("terminal", 1, 20, new ModuleInputs(2, 0, 16, packing, new Dictionary<string, int>()), null, null,
                    TimeSpan.FromMilliseconds(40), TimeSpan.FromMilliseconds(200), TimeSpan.Zero) { Identification = new IdentificationDefinition("Maker", null, ["1.2", "1.3"]) },
            ],
            Axes = [demo.Axes[0] with { Drive = demo.Axes[0].Drive with { Identification = new IdentificationDefinition(null, null, []) } }, .. demo.Axes.Skip(1)],
        };
        var text = new StringWriter();

        CheckSummary.Print(machine, text);

        Assert.Contains("gpio:soc/17: input, line 17 of chip \"soc\": interlock front guard;", text.ToString(), StringComparison.Ordinal);
        Assert.Contains("gpio:soc/PUMP: output, line PUMP of chip \"soc\": pump;", text.ToString(), StringComparison.Ordinal);
        Assert.Contains("module terminal: line-b address 20, 16 inputs, 0 outputs, read every 40 ms", text.ToString(), StringComparison.Ordinal);
        Assert.Contains("read every 40 ms; must tell what it is: vendor \"Maker\", revision \"1.2\" or \"1.3\"", text.ToString(), StringComparison.Ordinal);
        Assert.Single(text.ToString().Split('\n'), line => line.Contains($"axis {demo.Axes[0].Name}:", StringComparison.Ordinal) && line.TrimEnd().EndsWith("; must tell what it is: any that tells it", StringComparison.Ordinal));
        Assert.Contains("of the last 1000 exchanges 2 % failed is a warning, 25 % a fault", text.ToString(), StringComparison.Ordinal);
        Assert.Contains("    terminal: 150 bits", text.ToString(), StringComparison.Ordinal);
        var json = CheckSummary.ToJson("machine.json", [], "x", machine);
        Assert.Equal(("Maker", (string?)null), (json.Modules[0].Identification!.Vendor, json.Modules[0].Identification!.Product));
        Assert.NotNull(json.Axes[0].Identification);
        Assert.Null(json.Axes[1].Identification);
        Assert.Equal(new CheckedErrorRateJson(1000, 2, 25), json.Ports[0].ErrorRate);
        Assert.Equal(("terminal", 150), (json.Lines[1].Modules[0].Name, json.Lines[1].Modules[0].Bits));
        Assert.Equal(["input", "output"], CheckSummary.ToJson("machine.json", [], "x", machine).GpioLines.Select(line => line.Direction));
    }
}

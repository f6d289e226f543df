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
        var packing = new BitPacking(16, default, default, Configuration.Drives.WordOrder.LowFirst);
        var machine = demo with
        {
            Interlocks = [demo.Interlocks[1] with { Inputs = [door] }],
            Outputs = [new OutputDefinition("pump", pump, [], default, default, default, OutputState.Off, default)],
            Modules =
            [
                new ModuleDefinition("terminal", 1, 20, new ModuleInputs(2, 0, 16, packing, new Dictionary<string, int>()), null, null,
                    TimeSpan.FromMilliseconds(40), TimeSpan.FromMilliseconds(200), TimeSpan.Zero),
            ],
        };
        var text = new StringWriter();

        CheckSummary.Print(machine, text);

        Assert.Contains("gpio:soc/17: input, line 17 of chip \"soc\": interlock front guard;", text.ToString(), StringComparison.Ordinal);
        Assert.Contains("gpio:soc/PUMP: output, line PUMP of chip \"soc\": pump;", text.ToString(), StringComparison.Ordinal);
        Assert.Contains("module terminal: line-b address 20, 16 inputs, 0 outputs, read every 40 ms", text.ToString(), StringComparison.Ordinal);
        Assert.Equal(["input", "output"], CheckSummary.ToJson("machine.json", [], "x", machine).GpioLines.Select(line => line.Direction));
    }
}

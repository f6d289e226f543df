using Supervisor.Configuration.Machines;

namespace Supervisor.Configuration.Tests;

public sealed class GpioInputTests
{
    [Theory]
    [InlineData("gpio:soc-gpio/17", "soc-gpio", "17")]
    [InlineData("gpio:pinctrl/bank 1/DOOR", "pinctrl/bank 1", "DOOR")]
    [InlineData("gpio:0000:00:01.0/5V_OK", "0000:00:01.0", "5V_OK")]
    public void Read_GpioInput_IsChipByLabelAndLine(string text, string chip, string line)
    {
        var (errors, machine) = Read(text);

        Assert.Empty(errors);
        var input = machine!.Interlocks[1].Inputs[0];
        Assert.Equal((InputSource.Gpio, -1), (input.Source, input.Axis));
        Assert.Equal(new GpioReference(chip, line), input.Gpio);
    }

    [Theory]
    [InlineData("gpio:/3")]
    [InlineData("gpio:soc/")]
    [InlineData("gpio:a-label-of-more-than-thirty-one-bytes/3")]
    public void Read_NoGpioLine_IsTold(string text) =>
        Assert.Contains("is no GPIO line; gpio:CHIP-LABEL/LINE is expected", Assert.Single(Read(text).Errors), StringComparison.Ordinal);

    private static (List<string> Errors, MachineDefinition? Machine) Read(string input)
    {
        using var folder = new TestFolder();
        File.Copy(Samples.Example("reference.drive.json"), folder.At("reference.drive.json"));
        var json = EditedJson.Parse(Samples.Example("machine.json"));
        json["interlocks"]![1]!["inputs"]![0] = input;
        var result = MachineFile.Read(folder.Write("machine.json", json.ToJsonString()));
        return ([.. result.Errors.Select(error => error.ToString())], result.Value);
    }
}

using System.CommandLine;
using Supervisor.Bus.Links;
using Supervisor.Daemon.Verbs.Lines;

namespace Supervisor.Daemon.Tests.Verbs.Lines;

public sealed class LineOptionsTests
{
    [Theory]
    [InlineData(new[] { "--baud", "9600,19200", "--baud", "57600", "--baud", "9600" }, new[] { 9600, 19200, 57600 })]
    [InlineData(new[] { "--baud", "250000" }, new[] { 250_000 })]
    [InlineData(new string[0], new[] { 115_200 })]
    public void Bauds_GivenOnceOrOften_AreAllOfThemOnce(string[] arguments, int[] bauds)
    {
        var option = LineOptions.Bauds(115_200);
        var parsed = new RootCommand { option }.Parse(arguments);

        Assert.Empty(parsed.Errors);
        Assert.Equal(bauds, parsed.GetValue(option));
    }

    [Theory]
    [InlineData("--baud", "9600,fast")]
    [InlineData("--baud", "49")]
    [InlineData("--baud", "9600,")]
    [InlineData("--parity", "mark")]
    public void List_OneOfItWrong_IsToldOnce(string option, string text)
    {
        var parsed = new RootCommand { LineOptions.Bauds(115_200), LineOptions.Parity(LineParity.None) }.Parse([option, text]);

        Assert.Contains($"{option} takes", Assert.Single(parsed.Errors).Message, StringComparison.Ordinal);
    }
}

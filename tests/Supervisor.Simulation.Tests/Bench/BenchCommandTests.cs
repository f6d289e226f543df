using Supervisor.Configuration.Machines;
using Supervisor.Simulation.Bench;
using Supervisor.Simulation.Tests.Support;

namespace Supervisor.Simulation.Tests.Bench;

public sealed class BenchCommandTests
{
    private static readonly MachineDefinition Machine = new(
        "Tray seeder",
        [Definitions.Port, Definitions.Port with { Name = "line b" }],
        [Definitions.Axis(), Definitions.Axis(Definitions.Bits(), "side arm", 5), Definitions.Axis(name: "side arm.two", address: 6)],
        [],
        [])
    { Modules = [Support.Modules.Terminal()] };

    [Theory]
    [InlineData("input dibber.input1 0", BenchVerb.Input, 0, -1, "input1", 0)]
    [InlineData("  input   side arm.guard   1 ", BenchVerb.Input, 1, -1, "guard", 1)]
    [InlineData("input side arm.two.input3 1", BenchVerb.Input, 2, -1, "input3", 1)]
    [InlineData("fault dibber 0x8611", BenchVerb.Fault, 0, -1, "", 0x8611)]
    [InlineData("fault side arm 7", BenchVerb.Fault, 1, -1, "", 7)]
    [InlineData("jam dibber", BenchVerb.Jam, 0, -1, "", 0)]
    [InlineData("free dibber", BenchVerb.Free, 0, -1, "", 0)]
    [InlineData("restart side arm", BenchVerb.Restart, 1, -1, "", 0)]
    [InlineData("exchange side arm", BenchVerb.Exchange, 1, -1, "", 0)]
    [InlineData("unplug line-a", BenchVerb.Unplug, -1, 0, "", 0)]
    [InlineData("plug line b", BenchVerb.Plug, -1, 1, "", 0)]
    [InlineData("echo line b 1", BenchVerb.Echo, -1, 1, "", 1)]
    [InlineData("echo line-a 0", BenchVerb.Echo, -1, 0, "", 0)]
    [InlineData("quit", BenchVerb.Quit, -1, -1, "", 0)]
    public void TryParse_GoodLine_GivesTheCommand(string line, BenchVerb verb, int axis, int port, string input, int value)
    {
        Assert.True(BenchCommand.TryParse(line, Machine, out var command, out string error), error);
        Assert.Equal(new BenchCommand(verb, axis, port, input, (ushort)value), command);
        Assert.Empty(error);
    }

    [Theory]
    [InlineData("input module:terminal/3 1", BenchVerb.Input, 1, 3)]
    [InlineData("input module:terminal/door 0", BenchVerb.Input, 0, 17)]
    [InlineData("restart module:terminal", BenchVerb.Restart, 0, 0)]
    [InlineData("unplug module:terminal", BenchVerb.Unplug, 0, 0)]
    [InlineData("plug module:terminal", BenchVerb.Plug, 0, 0)]
    public void TryParse_LineAboutAModule_GivesTheCommand(string line, BenchVerb verb, int value, int bit)
    {
        Assert.True(BenchCommand.TryParse(line, Machine, out var command, out string error), error);
        Assert.Equal(new BenchCommand(verb, -1, -1, "", (ushort)value, 0, bit), command);
    }

    [Theory]
    [InlineData("input module:terminal 1", "module:NAME/BIT")]
    [InlineData("input module:terminal/3 2", "module:NAME/BIT")]
    [InlineData("input module:terminal/20 1", "'20'", "0 to 19, door")]
    [InlineData("input module:terminal/-1 1", "'-1'", "0 to 19")]
    [InlineData("input module:other/1 1", "'other'", "terminal")]
    [InlineData("restart module:", "''", "terminal")]
    [InlineData("inptu dibber.input1 0", "inptu", "unplug PORT")]
    [InlineData("input dibber.input1", "0|1")]
    [InlineData("input dibber.input1 2", "0|1")]
    [InlineData("input dibber 1", "names no input")]
    [InlineData("input dipper.input1 1", "'dipper'", "dibber, side arm")]
    [InlineData("input dibber.input9 1", "'input9'", "input1, input3")]
    [InlineData("fault dipper 0x8611", "'dipper'", "dibber")]
    [InlineData("fault dibber", "fault AXIS CODE")]
    [InlineData("fault dibber 0x18611", "0x18611", "65535")]
    [InlineData("fault dibber 0", "65535")]
    [InlineData("fault dibber -1", "65535")]
    [InlineData("jam", "dibber, side arm")]
    [InlineData("unplug line-z", "'line-z'", "line-a, line b")]
    [InlineData("plug", "line-a")]
    [InlineData("echo line-a", "echo PORT 0|1")]
    [InlineData("echo line-z 1", "'line-z'", "line-a, line b")]
    [InlineData("quit now", "now")]
    [InlineData("outputs dibber", "dibber")]
    public void TryParse_BadLine_TellsWhatToDo(string line, params string[] told)
    {
        Assert.False(BenchCommand.TryParse(line, Machine, out var command, out string error));
        Assert.Null(command);
        foreach (string part in told)
        {
            Assert.Contains(part, error, StringComparison.Ordinal);
        }
    }
}

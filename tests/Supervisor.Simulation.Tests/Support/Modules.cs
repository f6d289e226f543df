using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;

namespace Supervisor.Simulation.Tests.Support;

/// <summary>An invented module.</summary>
internal static class Modules
{
    public static ModuleDefinition Terminal(TimeoutFeed fedBy = TimeoutFeed.AnyFrame, ModuleReaction reaction = ModuleReaction.Off) => new(
        "terminal",
        0,
        20,
        new ModuleInputs(4, 0, 20, new BitPacking(16, BitOrder.LowFirst, ByteOrder.HighFirst, WordOrder.LowFirst), new Dictionary<string, int> { ["door"] = 17 }),
        new ModuleOutputs(16, 0, 4, new BitPacking(16, BitOrder.LowFirst, ByteOrder.HighFirst, WordOrder.LowFirst), new Dictionary<string, int>(), new ModuleReadBack(3, 0)),
        new ModuleTimeoutDefinition(TimeSpan.FromMilliseconds(200), reaction, fedBy, 6, new ModuleSetting(4096, 20, true), [new ModuleSetting(4096, 20, true)]),
        TimeSpan.FromMilliseconds(40),
        TimeSpan.FromMilliseconds(200),
        TimeSpan.Zero);
}

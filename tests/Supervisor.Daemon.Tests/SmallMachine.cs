using Supervisor.Configuration.Machines;

namespace Supervisor.Daemon.Tests;

/// <summary>Machines for tests that need names only.</summary>
internal static class SmallMachine
{
    private static readonly MachineDefinition Demo = MachineFile.Read(Path.Combine(AppContext.BaseDirectory, "demo", "machine.json")).Value!;

    /// <summary>The demo machine with its first axes renamed and the others left out.</summary>
    public static MachineDefinition With(params string[] axes) =>
        Demo with { Axes = [.. axes.Select((name, i) => Demo.Axes[i] with { Name = name })], Interlocks = [], Groups = [] };

    /// <summary>The demo machine as it is.</summary>
    public static MachineDefinition Whole => Demo;
}

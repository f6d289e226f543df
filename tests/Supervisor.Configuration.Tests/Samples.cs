using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Routines;

namespace Supervisor.Configuration.Tests;

/// <summary>Files beside the tests: complete examples, and the demo machine as it is shipped.</summary>
internal static class Samples
{
    public static string Example(string name) => Path.Combine(AppContext.BaseDirectory, "Examples", name);

    public static string Demo(string name) => Path.Combine(AppContext.BaseDirectory, "demo", name);

    public static MachineDefinition Machine(string path)
    {
        var result = MachineFile.Read(path);
        Assert.Empty(result.Errors);
        return result.Value!;
    }

    public static DriveDefinition Drive(string path)
    {
        var result = DriveDefinitionFile.Read(path);
        Assert.Empty(result.Errors);
        return result.Value!;
    }

    public static RoutineDefinition Routine(string path, MachineDefinition machine)
    {
        var result = RoutineFile.Read(path, machine);
        Assert.Empty(result.Errors);
        return result.Value!;
    }
}

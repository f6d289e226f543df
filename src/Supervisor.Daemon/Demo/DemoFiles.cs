using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Routines;

namespace Supervisor.Daemon.Demo;

/// <summary>The demo machine's files, which are installed beside the program, and the names in them that the demo speaks of.</summary>
internal static class DemoFiles
{
    public const string Dibber = "dibber";
    public const string Gantry = "gantry";
    public const string Guard = "front guard";
    public const string GuardInput = "gantry.input1";
    public const string ResetButton = "tray.input3";
    public const string Line = "line-b";

    public static string MachinePath { get; } = Path.Combine(AppContext.BaseDirectory, "demo", "machine.json");

    public static string RoutinePath { get; } = Path.Combine(AppContext.BaseDirectory, "demo", "sow-tray.routine.json");

    public static RoutineDefinition ReadRoutine(MachineDefinition machine, out IReadOnlyList<string> problems)
    {
        var result = RoutineFile.Read(RoutinePath, machine);
        problems = [.. result.Errors.Select(error => error.ToString())];
        return result.Value!;
    }
}

using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Routines;

/// <summary>Reads routine files (<c>*.routine.json</c>).</summary>
public static class RoutineFile
{
    /// <summary>
    /// Reads a routine and checks it against the machine it is for. Never throws for what a file holds or for a file that is not there: every error is in
    /// the result.
    /// </summary>
    public static FileResult<RoutineDefinition> Read(string path, MachineDefinition machine)
    {
        ArgumentNullException.ThrowIfNull(path);
        ArgumentNullException.ThrowIfNull(machine);
        var file = LoadedFile.Open(path);
        var routine = file.Root is null ? null : new RoutineReader(machine, file.Errors).Read(file.Root);
        return new FileResult<RoutineDefinition>(file.Errors.Count == 0 ? routine : null, file.Errors.InOrder());
    }
}

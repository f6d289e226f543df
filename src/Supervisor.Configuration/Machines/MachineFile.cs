using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads machine files.</summary>
public static class MachineFile
{
    /// <summary>
    /// Reads and checks a machine file and the drive definitions it names. Never throws for what a file holds or for a file that is not there: every
    /// error of every file is in the result, the machine file's first, each file's in the order of its lines.
    /// </summary>
    public static FileResult<MachineDefinition> Read(string path)
    {
        ArgumentNullException.ThrowIfNull(path);
        var file = LoadedFile.Open(path);
        var drives = new DriveDefinitions(file);
        var machine = file.Root is null ? null : new MachineReader(file, drives).Read(file.Root);
        IReadOnlyList<FileError> errors = [.. file.Errors.InOrder(), .. drives.Errors];
        return new FileResult<MachineDefinition>(errors.Count == 0 ? machine : null, errors);
    }
}

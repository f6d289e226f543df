using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Drives;

/// <summary>Reads drive definitions (<c>*.drive.json</c>).</summary>
public static class DriveDefinitionFile
{
    /// <summary>Reads and checks one. Never throws for what a file holds or for a file that is not there: every error is in the result.</summary>
    public static FileResult<DriveDefinition> Read(string path)
    {
        ArgumentNullException.ThrowIfNull(path);
        var file = LoadedFile.Open(path);
        var draft = file.Root is null ? null : new DriveReader(file.Errors).Read(file.Root);
        return new FileResult<DriveDefinition>(file.Errors.Count == 0 ? draft : null, file.Errors.InOrder());
    }
}

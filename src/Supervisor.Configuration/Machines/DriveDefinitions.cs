using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>A drive definition as far as it could be read: with errors it still has the names it declares, but nothing else of it can be relied on.</summary>
internal sealed record DriveDraft(DriveDefinition Definition, bool IsGood);

/// <summary>The drive definitions a machine file names, each read once.</summary>
internal sealed class DriveDefinitions(LoadedFile machine)
{
    private readonly Dictionary<string, DriveDraft?> drafts = new(StringComparer.Ordinal);
    private readonly List<LoadedFile> files = [];

    /// <summary>Errors inside the definitions, in the order they are named.</summary>
    public IEnumerable<FileError> Errors => files.SelectMany(file => file.Errors.InOrder());

    /// <summary>The definition a member names; null with an error told.</summary>
    public DriveDraft? Read(Node? node)
    {
        if (node is null || Values.Text(node, machine.Errors) is not { } name)
        {
            return null;
        }

        var path = machine.Beside(name);
        if (drafts.TryGetValue(Path.GetFullPath(path), out var known))
        {
            return known;
        }

        // A file that can't be had is the naming member's error, and every axis that names it is told.
        if (SourceFile.Load(path, out var problem) is null)
        {
            machine.Errors.Add(node, $"{Show.Path(path)}: {problem}");
            return null;
        }

        var file = LoadedFile.Open(path);
        files.Add(file);
        var definition = file.Root is null ? null : new DriveReader(file.Errors).Read(file.Root);
        var draft = definition is null ? null : new DriveDraft(definition, file.Errors.Count == 0);
        drafts.Add(Path.GetFullPath(path), draft);
        return draft;
    }
}

namespace Supervisor.Configuration.Reading;

/// <summary>A file brought into memory and parsed.</summary>
/// <param name="Path">Path as the user gave it.</param>
/// <param name="Errors">Errors of the file so far.</param>
/// <param name="Root">Its root value; null with an error told.</param>
internal sealed record LoadedFile(string Path, FileErrors Errors, Node? Root)
{
    /// <summary>Reads and parses; every trouble becomes an error of the file.</summary>
    public static LoadedFile Open(string path)
    {
        var bytes = SourceFile.Load(path, out var problem);
        var source = new SourceText(path, bytes ?? []);
        var errors = new FileErrors(source);
        if (bytes is null)
        {
            errors.Add(0, "", problem);
            return new LoadedFile(path, errors, null);
        }

        return new LoadedFile(path, errors, NodeParser.Parse(source, errors));
    }

    /// <summary>A path that stands in this file, as it can be opened and told: relative ones start at this file's folder.</summary>
    public string Beside(string relative) => System.IO.Path.Combine(System.IO.Path.GetDirectoryName(Path) ?? "", relative);
}

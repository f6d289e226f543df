namespace Supervisor.Configuration.Reading;

/// <summary>Collects the errors of one file.</summary>
internal sealed class FileErrors(SourceText source)
{
    private readonly List<(int Offset, FileError Error)> all = [];

    public int Count => all.Count;

    public void Add(Node at, string message) => Add(at.Offset, at.Path, message);

    public void Add(int offset, string path, string message)
    {
        var (line, column) = source.Locate(offset);
        all.Add((offset, new FileError(source.File, line, column, path, message)));
    }

    /// <summary>A value of another kind than expected.</summary>
    public void WrongKind(Node node, string expected)
    {
        var advice = node.Kind == NodeKind.Null ? "; leave the member out instead" : "";
        Add(node, $"{expected} is expected, found {node.Found}{advice}");
    }

    /// <summary>Line of a value, for messages that point to a second place.</summary>
    public int LineOf(Node node) => source.Locate(node.Offset).Line;

    /// <summary>All errors by their place in the file.</summary>
    public IReadOnlyList<FileError> InOrder() => [.. all.OrderBy(entry => entry.Offset).Select(entry => entry.Error)];
}

namespace Supervisor.History.Tests.Storms;

/// <summary>
/// A folder as a disk may hold it after a loss of power, played from the log of a process: names are as they were when the folder was last synced, or
/// as any later change left them, in their order.
/// </summary>
internal sealed class CutDisk
{
    private readonly Dictionary<int, CutFile> _opened = [];
    private readonly Dictionary<string, CutFile> _seen = [];
    private readonly List<Action<Dictionary<string, CutFile>>> _unsynced = [];
    private Dictionary<string, CutFile> _kept = [];

    /// <summary>Does what the process did next.</summary>
    public void Play(in DiskOperation operation)
    {
        switch (operation.Kind)
        {
            case 'O' or 'A':
                Open(operation);
                break;
            case 'W':
                _opened[operation.File].Write(operation.At, operation.Data.Span);
                break;
            case 'T':
                _opened[operation.File].Resize(operation.At);
                break;
            case 'S':
                _opened[operation.File].Sync();
                break;
            case 'X':
                _opened[operation.File].FailSync();
                break;
            case 'D':
                _kept = new Dictionary<string, CutFile>(_seen);
                _unsynced.Clear();
                break;
            case 'U':
                var gone = operation.Names[0];
                Change(names => names.Remove(gone));
                break;
            case 'R':
                var (from, to) = (operation.Names[0], operation.Names[1]);
                Change(names =>
                {
                    if (names.Remove(from, out var file))
                    {
                        names[to] = file;
                    }
                });
                break;
            default:
                throw new InvalidOperationException($"the log has an entry '{operation.Kind}'");
        }
    }

    /// <summary>Writes down what is left after a cut now. What is shared memory in a file is not.</summary>
    public void Cut(string folder, CutStyle style, Random random)
    {
        var names = new Dictionary<string, CutFile>(_kept);
        var changes = style switch { CutStyle.Nothing => 0, CutStyle.Everything => _unsynced.Count, _ => random.Next(_unsynced.Count + 1) };
        foreach (var change in _unsynced.Take(changes))
        {
            change(names);
        }

        foreach (var (name, file) in names.Where(pair => !pair.Key.EndsWith("-shm", StringComparison.Ordinal)))
        {
            File.WriteAllBytes(Path.Combine(folder, name), file.Cut(style, random));
        }
    }

    private void Open(DiskOperation operation)
    {
        var name = operation.Names[0];
        if (!_seen.TryGetValue(name, out var file))
        {
            file = new CutFile();
            Change(names => names[name] = file);
        }

        _opened[operation.File] = file;
    }

    private void Change(Action<Dictionary<string, CutFile>> change)
    {
        change(_seen);
        _unsynced.Add(change);
    }
}

using Supervisor.Bus;
using Supervisor.Runtime;
using Supervisor.Runtime.Contact;

namespace Supervisor.Daemon.Memories;

/// <summary>Writes the reference file when an axis has gained or lost its zero: on a thread of its own, as a slow disk must hold nobody up.</summary>
public sealed partial class ReferenceKeeper
{
    private readonly MachineBoard _board;
    private readonly ReferenceFile _file;
    private readonly ILogger _logger;
    private readonly KeeperThread _thread;
    private readonly ReferenceNote[] _notes;
    private readonly bool[] _isOfThisBoot;
    private readonly int[] _seen;

    public ReferenceKeeper(MachineBoard board, ReferenceFile file, IMonotonicClock clock, ILogger logger)
    {
        ArgumentNullException.ThrowIfNull(board);
        _board = board;
        _file = file;
        _logger = logger;
        _notes = [.. board.Remembered];
        _isOfThisBoot = new bool[_notes.Length];
        _seen = new int[_notes.Length];
        _thread = new KeeperThread(
            "references", IsChanged, () => _file.Write(_notes, _isOfThisBoot), exception => LogNotWritten(_file.Path, exception), clock);
    }

    /// <summary>Starts the thread. Once.</summary>
    public void Start() => _thread.Start();

    /// <summary>Writes what is left and ends.</summary>
    /// <returns>False when it had not ended within <paramref name="patience"/>.</returns>
    public bool Stop(TimeSpan patience) => _thread.Stop(patience);

    /// <inheritdoc cref="KeeperThread.Step"/>
    public bool Step() => _thread.Step();

    private bool IsChanged()
    {
        var isChanged = false;
        for (var axis = 0; axis < _notes.Length; axis++)
        {
            if (_board.References[axis].Read() is var note && note.Version != _seen[axis])
            {
                (_notes[axis], _isOfThisBoot[axis], _seen[axis], isChanged) = (note, true, note.Version, true);
            }
        }

        return isChanged;
    }

    [LoggerMessage(1030, LogLevel.Error, "{Path} could not be written: a zero that was gained or lost since is not kept; tried again", EventName = "ReferencesNotWritten")]
    private partial void LogNotWritten(string path, Exception exception);
}

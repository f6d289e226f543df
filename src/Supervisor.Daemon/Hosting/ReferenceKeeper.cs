using Supervisor.Bus;
using Supervisor.Runtime;
using Supervisor.Runtime.Contact;

namespace Supervisor.Daemon.Hosting;

/// <summary>Writes the reference file when an axis has gained or lost its zero: on a thread of its own, as a slow disk must hold nobody up.</summary>
public sealed partial class ReferenceKeeper
{
    private static readonly TimeSpan Interval = TimeSpan.FromMilliseconds(50);
    private static readonly TimeSpan AfterFailure = TimeSpan.FromSeconds(5);

    private readonly MachineBoard _board;
    private readonly ReferenceFile _file;
    private readonly IMonotonicClock _clock;
    private readonly ILogger _logger;
    private readonly Thread _thread;
    private readonly ReferenceNote[] _notes;
    private readonly bool[] _isOfThisBoot;
    private readonly int[] _written;
    private volatile bool _isEnding;

    public ReferenceKeeper(MachineBoard board, ReferenceFile file, IMonotonicClock clock, ILogger logger)
    {
        ArgumentNullException.ThrowIfNull(board);
        _board = board;
        _file = file;
        _clock = clock;
        _logger = logger;
        _notes = [.. board.Remembered];
        _isOfThisBoot = new bool[_notes.Length];
        _written = new int[_notes.Length];
        _thread = new Thread(Run) { Name = "references", IsBackground = true };
    }

    /// <summary>Starts the thread. Once.</summary>
    public void Start() => _thread.Start();

    /// <summary>Writes what is left and ends.</summary>
    /// <returns>False when it had not ended within <paramref name="patience"/>.</returns>
    public bool Stop(TimeSpan patience)
    {
        _isEnding = true;
        return _thread.Join(patience);
    }

    /// <summary>Writes the file if something changed since it was last written. True when nothing is left to write.</summary>
    public bool Step()
    {
        var changed = false;
        for (var axis = 0; axis < _notes.Length; axis++)
        {
            var note = _board.References[axis].Read();
            if (note.Version != _written[axis])
            {
                (_notes[axis], _isOfThisBoot[axis], changed) = (note, true, true);
            }
        }

        if (!changed)
        {
            return true;
        }

        try
        {
            _file.Write(_notes, _isOfThisBoot);
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException)
        {
            LogNotWritten(_file.Path, exception);
            return false;
        }

        for (var axis = 0; axis < _notes.Length; axis++)
        {
            _written[axis] = _isOfThisBoot[axis] ? _notes[axis].Version : 0;
        }

        return true;
    }

    private void Run()
    {
        while (!_isEnding)
        {
            var pause = Step() ? Interval : AfterFailure;
            for (var until = _clock.Now + pause; _clock.Now < until && !_isEnding;)
            {
                _clock.WaitUntil(_clock.Now + Interval);
            }
        }

        Step();
    }

    [LoggerMessage(1030, LogLevel.Error, "{Path} could not be written: a zero that was gained or lost since is not kept; tried again", EventName = "ReferencesNotWritten")]
    private partial void LogNotWritten(string path, Exception exception);
}

using Supervisor.Bus;
using Supervisor.Machine.Recovery;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Daemon.Hosting;

/// <summary>Writes down which axes go slowly since they did not follow: on a thread of its own, as a slow disk must hold nobody up.</summary>
internal sealed partial class ReducedSpeedKeeper
{
    private static readonly TimeSpan Interval = TimeSpan.FromMilliseconds(100);

    private readonly IReadOnlyList<SnapshotCell<ReducedSpeedNote>> _axes;
    private readonly ReducedSpeedFile _file;
    private readonly IMonotonicClock _clock;
    private readonly ILogger _logger;
    private readonly Thread _thread;
    private readonly ReducedSpeedNote[] _kept;
    private bool _isFailing;
    private volatile bool _isEnding;

    /// <param name="axes">What the coordinator tells, by axis.</param>
    /// <param name="remembered">What the file has.</param>
    /// <param name="file">Where it is written.</param>
    /// <param name="clock">For the pauses between looks.</param>
    /// <param name="logger">The log.</param>
    public ReducedSpeedKeeper(
        IReadOnlyList<SnapshotCell<ReducedSpeedNote>> axes, IReadOnlyList<ReducedSpeedNote> remembered, ReducedSpeedFile file, IMonotonicClock clock, ILogger logger)
    {
        _axes = axes;
        _kept = [.. remembered];
        _file = file;
        _clock = clock;
        _logger = logger;
        _thread = new Thread(Run) { Name = "reduced speeds", IsBackground = true };
    }

    /// <summary>Starts the thread. Once.</summary>
    public void Start() => _thread.Start();

    /// <summary>Writes what is left and ends.</summary>
    /// <returns>False when it had not ended within <paramref name="patience"/>.</returns>
    public bool Stop(TimeSpan patience)
    {
        _isEnding = true;
        return !_thread.IsAlive || _thread.Join(patience);
    }

    /// <summary>Writes the file if something changed. True when nothing is left to write.</summary>
    public bool Step()
    {
        var changed = _isFailing;
        for (var axis = 0; axis < _kept.Length; axis++)
        {
            if (_axes[axis].Read() is var note && note.Version != _kept[axis].Version)
            {
                (_kept[axis], changed) = (note, true);
            }
        }

        if (!changed)
        {
            return true;
        }

        try
        {
            _file.Write(_kept);
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException)
        {
            if (!_isFailing)
            {
                LogNotWritten(_file.Path, exception);
            }

            _isFailing = true;
            return false;
        }

        _isFailing = false;
        return true;
    }

    private void Run()
    {
        while (!_isEnding)
        {
            Step();
            _clock.WaitUntil(_clock.Now + Interval);
        }

        Step();
    }

    [LoggerMessage(1034, LogLevel.Error, "{Path} could not be written: after a restart an axis that did not follow may go at full speed past the place; tried again", EventName = "ReducedSpeedsNotWritten")]
    private partial void LogNotWritten(string path, Exception exception);
}

using Supervisor.Bus;
using Supervisor.Machine.Recovery;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Daemon.Memories;

/// <summary>Writes down which axes go slowly since they did not follow: on a thread of its own, as a slow disk must hold nobody up.</summary>
internal sealed partial class ReducedSpeedKeeper
{
    private readonly IReadOnlyList<SnapshotCell<ReducedSpeedNote>> _axes;
    private readonly ReducedSpeedFile _file;
    private readonly ILogger _logger;
    private readonly KeeperThread _thread;
    private readonly ReducedSpeedNote[] _kept;

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
        _logger = logger;
        _thread = new KeeperThread("reduced speeds", IsChanged, () => _file.Write(_kept), exception => LogNotWritten(_file.Path, exception), clock);
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
        for (var axis = 0; axis < _kept.Length; axis++)
        {
            if (_axes[axis].Read() is var note && note.Version != _kept[axis].Version)
            {
                (_kept[axis], isChanged) = (note, true);
            }
        }

        return isChanged;
    }

    [LoggerMessage(1034, LogLevel.Error, "{Path} could not be written: after a restart an axis that did not follow may go at full speed past the place; tried again", EventName = "ReducedSpeedsNotWritten")]
    private partial void LogNotWritten(string path, Exception exception);
}

using Supervisor.Bus;
using Supervisor.Machine.OwnAlarms;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Daemon.Memories;

/// <summary>Writes down the counters: on a thread of its own, as a slow disk must hold nobody up. A kill costs what was counted within its last pause.</summary>
internal sealed partial class CounterKeeper
{
    private readonly IReadOnlyList<SnapshotCell<CounterNote>> _counters;
    private readonly CounterFile _file;
    private readonly IMonotonicClock _clock;
    private readonly ILogger _logger;
    private readonly KeeperThread _thread;
    private readonly long[] _versions;
    private readonly long[] _counts;
    private TimeSpan _lookedAt;
    private volatile bool _isEnding;

    // A counter that runs all the time must not wear the card out: nobody needs the count of the last seconds after a kill.
    private static readonly TimeSpan Pause = TimeSpan.FromSeconds(5);

    /// <param name="counters">What the coordinator tells, by counter.</param>
    /// <param name="file">Where it is written.</param>
    /// <param name="clock">For the pauses between looks.</param>
    /// <param name="logger">The log.</param>
    public CounterKeeper(IReadOnlyList<SnapshotCell<CounterNote>> counters, CounterFile file, IMonotonicClock clock, ILogger logger)
    {
        (_counters, _file, _clock, _logger) = (counters, file, clock, logger);
        _versions = new long[counters.Count];
        _counts = [.. counters.Select(counter => counter.Read().Count)];
        _thread = new KeeperThread("counters", IsChanged, () => _file.Write(_counts), exception => LogNotWritten(_file.Path, exception), clock);
    }

    /// <summary>Starts the thread. Once.</summary>
    public void Start() => _thread.Start();

    /// <summary>Writes what is left and ends.</summary>
    /// <returns>False when it had not ended within <paramref name="patience"/>.</returns>
    public bool Stop(TimeSpan patience)
    {
        _isEnding = true;
        return _thread.Stop(patience);
    }

    /// <inheritdoc cref="KeeperThread.Step"/>
    public bool Step() => _thread.Step();

    private bool IsChanged()
    {
        if (!_isEnding && _lookedAt != TimeSpan.Zero && _clock.Now - _lookedAt < Pause)
        {
            return false;
        }

        var isChanged = false;
        for (var counter = 0; counter < _versions.Length; counter++)
        {
            if (_counters[counter].Read() is var note && note.Version != _versions[counter])
            {
                (_versions[counter], _counts[counter], isChanged) = (note.Version, note.Count, true);
            }
        }

        _lookedAt = isChanged ? _clock.Now : _lookedAt;
        return isChanged;
    }

    [LoggerMessage(1040, LogLevel.Error, "{Path} could not be written: after a restart the counters are as they were before; tried again", EventName = "CountersNotWritten")]
    private partial void LogNotWritten(string path, Exception exception);
}

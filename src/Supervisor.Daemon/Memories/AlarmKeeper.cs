using Supervisor.Bus;
using Supervisor.History.Clocks;
using Supervisor.Machine.Api;

namespace Supervisor.Daemon.Memories;

/// <summary>
/// Writes down the alarms: at once where a person waits for it, else a second after a change and at most once a minute, so that an alarm that comes and goes
/// does not wear out the disk. On a thread of its own, as a slow disk must hold nobody up.
/// </summary>
public sealed partial class AlarmKeeper
{
    /// <summary>How long a change that nobody waits for may gather others.</summary>
    private static readonly TimeSpan Gathers = TimeSpan.FromSeconds(1);
    private static readonly TimeSpan Interval = TimeSpan.FromMinutes(1);
    private static readonly TimeSpan Look = TimeSpan.FromMilliseconds(10);

    private readonly Func<AlarmList> _list;
    private readonly AlarmFile _file;
    private readonly Func<ClockReading> _clocks;
    private readonly string _bootId;
    private readonly IMonotonicClock _clock;
    private readonly ILogger _logger;
    private readonly KeeperThread _thread;
    private AlarmList _seen;
    private TimeSpan? _changedAt;
    private TimeSpan? _wroteAt;
    private long _awaited;
    private long _written;

    internal AlarmKeeper(Func<AlarmList> list, AlarmFile file, Func<ClockReading> clocks, string bootId, IMonotonicClock clock, ILogger logger)
    {
        (_list, _file, _clocks, _bootId, _clock, _logger) = (list, file, clocks, bootId, clock, logger);
        _seen = list();
        _thread = new KeeperThread("alarms", IsDue, Write, exception => LogNotWritten(_file.Path, exception), clock);
    }

    /// <summary>Starts the thread. Once.</summary>
    public void Start() => _thread.Start();

    /// <summary>Writes what is left and ends.</summary>
    /// <returns>False when it had not ended within <paramref name="patience"/>.</returns>
    public bool Stop(TimeSpan patience)
    {
        Volatile.Write(ref _awaited, long.MaxValue);
        return _thread.Stop(patience);
    }

    /// <summary>Waits until what is shown now is on the disk. Any thread.</summary>
    /// <returns>False when it was not within <paramref name="patience"/>; it goes on trying.</returns>
    public async Task<bool> KeepAsync(TimeSpan patience, CancellationToken cancellation)
    {
        var version = _list().Version;
        for (var awaited = Volatile.Read(ref _awaited); awaited < version;)
        {
            awaited = Interlocked.CompareExchange(ref _awaited, version, awaited);
        }

        var until = _clock.Now + patience;
        while (Volatile.Read(ref _written) < version)
        {
            if (_clock.Now >= until)
            {
                return false;
            }

            await Task.Delay(Look, cancellation);
        }

        return true;
    }

    internal bool Step() => _thread.Step();

    private bool IsDue()
    {
        var list = _list();
        if (list.Version == _written && ReferenceEquals(list, _seen))
        {
            return false;
        }

        var now = _clock.Now;
        if (!ReferenceEquals(list, _seen))
        {
            _changedAt = IsAlike(list, _seen) ? _changedAt : _changedAt ?? now;
            _seen = list;
        }

        return (Volatile.Read(ref _awaited) is var awaited && awaited > _written)
            || (_changedAt is { } since && now - since >= Gathers && (_wroteAt is not { } last || now - last >= Interval));
    }

    private void Write()
    {
        var list = _list();
        _file.Write(list.Alarms, _clocks(), _bootId);
        (_seen, _changedAt, _wroteAt) = (list, null, _clock.Now);
        Volatile.Write(ref _written, list.Version);
    }

    /// <summary>The same alarms in the same states, known to the same people: how often one was told since is not worth a write.</summary>
    private static bool IsAlike(AlarmList one, AlarmList other)
    {
        if (one.Alarms.Count != other.Alarms.Count)
        {
            return false;
        }

        var known = other.Alarms.ToDictionary(alarm => alarm.Key);
        return one.Alarms.All(alarm => known.TryGetValue(alarm.Key, out var before)
            && (before.State, before.Acknowledged, before.OutOfService) == (alarm.State, alarm.Acknowledged, alarm.OutOfService));
    }

    [LoggerMessage(1046, LogLevel.Error, "{Path} could not be written: after a restart alarms that were acknowledged since are to be acknowledged anew; tried again", EventName = "AlarmsNotWritten")]
    private partial void LogNotWritten(string path, Exception exception);
}

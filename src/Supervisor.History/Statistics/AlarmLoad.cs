using Supervisor.Records.Faults;

namespace Supervisor.History.Statistics;

/// <summary>How many alarms come when: rate, floods and chattering after ISA-18.2 and EEMUA 191.</summary>
internal sealed class AlarmLoad
{
    private const int Window = 600, Minute = 60, FloodAbove = 10, FloodBelow = 5, ChatteringAbove = 3;

    // Far more than a machine has; what comes beyond still counts as alarms.
    private const int MostSources = 4_096;

    private readonly SlidingCount _window = new(Window);
    private readonly Dictionary<(FaultCode Code, string Source), Source> _sources = [];
    private long _alarms, _peak, _floods, _floodSeconds;
    private DateTimeOffset? _peakAt;
    private long? _floodSince;
    private bool _isCounted;

    /// <summary>Time passes.</summary>
    public void Pass(TimeSpan elapsed)
    {
        var second = Second(elapsed);
        while (_floodSince is not null && _window.Second < second)
        {
            _window.MoveTo(_window.Second + 1);
            if (_window.Total < FloodBelow)
            {
                EndFlood();
            }
        }

        _window.MoveTo(second);
    }

    /// <summary>Alarms that were alike came, the last of them now.</summary>
    public void Add(FaultCode code, string source, long count, TimeSpan first, TimeSpan elapsed, DateTimeOffset? utc, bool isInPeriod)
    {
        Pass(elapsed);
        _window.Add(Second(first), count);
        if (_floodSince is null && _window.Total > FloodAbove)
        {
            (_floodSince, _isCounted) = (_window.Second, isInPeriod);
            _floods += isInPeriod ? 1 : 0;
        }

        if (!_sources.TryGetValue((code, source), out var known) && _sources.Count < MostSources)
        {
            _sources[(code, source)] = known = new Source();
        }

        known?.Last.MoveTo(Second(elapsed));
        known?.Last.Add(Second(first), count);
        if (!isInPeriod)
        {
            return;
        }

        _alarms += count;
        if (_window.Total > _peak)
        {
            (_peak, _peakAt) = (_window.Total, utc);
        }

        if (known is not null)
        {
            known.Count += count;
            known.Worst = Math.Max(known.Worst, known.Last.Total);
        }
    }

    /// <summary>What it came to.</summary>
    /// <param name="running">Running time in the period.</param>
    /// <param name="stale">Faults that stood for long.</param>
    public AlarmStatistics Result(TimeSpan running, IReadOnlyList<StaleAlarm> stale)
    {
        EndFlood();
        var chattering = _sources.Where(each => each.Value.Worst > ChatteringAbove)
            .Select(each => new ChatteringAlarm(each.Key.Code, each.Key.Source, each.Value.Count, each.Value.Worst))
            .OrderByDescending(each => each.WorstMinute).ThenByDescending(each => each.Count).ThenBy(each => each.Source, StringComparer.Ordinal);
        return new AlarmStatistics(
            _alarms, running > TimeSpan.Zero ? _alarms / running.TotalSeconds * Window : null, _peak, _peakAt, _floods, TimeSpan.FromSeconds(_floodSeconds), [.. chattering], stale);
    }

    private static long Second(TimeSpan elapsed) => elapsed.Ticks / TimeSpan.TicksPerSecond;

    private void EndFlood()
    {
        if (_floodSince is { } since && _isCounted)
        {
            _floodSeconds += _window.Second - since;
        }

        _floodSince = null;
    }

    private sealed class Source
    {
        public SlidingCount Last { get; } = new(Minute);

        public long Count { get; set; }

        public long Worst { get; set; }
    }
}

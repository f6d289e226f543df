using Supervisor.History.Entries;
using Supervisor.History.Incidents;
using Supervisor.History.Reading;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;

namespace Supervisor.History.Statistics;

/// <summary>Which axes are out by a fault, and for how long.</summary>
internal sealed class DownTimes
{
    private static readonly TimeSpan StaleAfter = TimeSpan.FromHours(24);

    private readonly Dictionary<string, OutAxis> _out = new(StringComparer.Ordinal);
    private readonly Dictionary<(FaultCode Code, string Axis), TimeSpan> _stale = [];
    private (long? Incident, FaultCode Code) _lead;
    private long? _incident;
    private FaultCode _code;
    private TimeSpan _up, _down;
    private long _failures, _repairs;

    /// <summary>Seconds by the code that led.</summary>
    public Pareto<FaultCode> Codes { get; } = new();

    /// <summary>Seconds by axis.</summary>
    public Pareto<string> Axes { get; } = new();

    public Dependability Dependability => new(_up, _down, _failures, _repairs, _out.Count > 0);

    public IReadOnlyList<StaleAlarm> Stale =>
        [.. _stale.Select(each => new StaleAlarm(each.Key.Code, each.Key.Axis, each.Value)).OrderByDescending(each => each.Longest).ThenBy(each => each.Axis, StringComparer.Ordinal)];

    /// <summary>Running time passes.</summary>
    /// <param name="inside">How much of it lies in the period.</param>
    public void Pass(TimeSpan inside)
    {
        if (_out.Count == 0)
        {
            _up += inside;
            return;
        }

        _down += inside;
        Codes.Add(_code, inside.TotalSeconds);
        foreach (var (name, axis) in _out)
        {
            Axes.Add(name, inside.TotalSeconds);
            axis.IsSeen |= inside > TimeSpan.Zero && !axis.IsCleared;
        }
    }

    /// <summary>Any fault: it may lead what others are about.</summary>
    public void Lead(StoredRecord stored, FaultCode code)
    {
        if (stored.Placement.Relation != Relation.Leads)
        {
            return;
        }

        _lead = (stored.Incident, code);
        if (_out.Count > 0 && stored.Incident is not null && stored.Incident == _incident)
        {
            _code = code;
        }
    }

    /// <summary>An axis is out.</summary>
    public void Fault(string axis, FaultRecord fault, long? incident, bool isInPeriod, TimeSpan elapsed)
    {
        if (_out.Count == 0)
        {
            _failures += isInPeriod ? 1 : 0;
            _incident = incident;
            _code = incident is not null && _lead.Incident == incident ? _lead.Code : fault.Code;
        }

        var isOn = fault.State is AxisState.Ready or AxisState.Moving or AxisState.Homing;
        if (!_out.TryGetValue(axis, out var known))
        {
            _out[axis] = new OutAxis(fault.Code, elapsed) { WasOn = isOn };
        }
        else if (known.IsCleared)
        {
            _out[axis] = new OutAxis(fault.Code, elapsed) { WasOn = isOn || known.WasOn };
        }
        else
        {
            known.WasOn |= isOn;
        }
    }

    /// <summary>An axis comes back: one that had been in use once it has torque again, another once its fault is cleared.</summary>
    public void Back(ReturnRecord back, bool isInPeriod, TimeSpan elapsed)
    {
        if (!_out.TryGetValue(back.Axis, out var axis))
        {
            return;
        }

        Clear(back.Axis, axis, elapsed);
        if ((back.Step == ReturnStep.Ready || !axis.WasOn) && _out.Remove(back.Axis) && _out.Count == 0)
        {
            _repairs += isInPeriod ? 1 : 0;
        }
    }

    /// <summary>What is out is no longer watched: the supervisor ended, or the last record was reached.</summary>
    public void LookAtStale(TimeSpan elapsed)
    {
        foreach (var (name, axis) in _out)
        {
            if (!axis.IsCleared)
            {
                NoteStale(name, axis, elapsed);
            }
        }
    }

    /// <summary>The supervisor starts anew: what an axis had latched before is not known to it, and no repair.</summary>
    public void Forget() => _out.Clear();

    private void Clear(string name, OutAxis axis, TimeSpan elapsed)
    {
        if (!axis.IsCleared)
        {
            NoteStale(name, axis, elapsed);
            axis.IsCleared = true;
        }
    }

    private void NoteStale(string name, OutAxis axis, TimeSpan elapsed)
    {
        var stood = elapsed - axis.Since;
        if (stood > StaleAfter && axis.IsSeen)
        {
            var key = (axis.Code, name);
            _stale[key] = stood > _stale.GetValueOrDefault(key) ? stood : _stale[key];
        }
    }

    private sealed class OutAxis(FaultCode code, TimeSpan since)
    {
        public FaultCode Code { get; } = code;

        public TimeSpan Since { get; } = since;

        public bool WasOn { get; set; }

        public bool IsCleared { get; set; }

        /// <summary>It stood within the period.</summary>
        public bool IsSeen { get; set; }
    }
}

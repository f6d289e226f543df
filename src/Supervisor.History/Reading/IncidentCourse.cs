using Supervisor.History.Entries;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;

namespace Supervisor.History.Reading;

/// <summary>How an incident went, from its records in the order of writing.</summary>
internal sealed class IncidentCourse
{
    // By axis that is not back: whether it had been in use.
    private readonly Dictionary<string, bool> _out = new(StringComparer.Ordinal);
    private readonly HashSet<string> _cleared = new(StringComparer.Ordinal);
    private readonly List<string> _axes = [];
    private readonly List<StoredRecord> _faults = [];

    /// <param name="records">Faults, notices, returns, alarms and starts of the incident.</param>
    /// <param name="start">First start of the supervisor after its first record; null: none.</param>
    public IncidentCourse(IReadOnlyList<StoredRecord> records, StoredRecord? start)
    {
        TimeSpan? backAt = null;
        var isRestarted = false;
        foreach (var stored in records)
        {
            if (start is not null && stored.Sequence >= start.Sequence && !isRestarted)
            {
                isRestarted = _out.Count > 0;
                _out.Clear();
            }

            backAt = Take(stored) ?? backAt;
        }

        isRestarted |= start is not null && records[^1].Sequence < start.Sequence && _out.Count > 0;
        State = _axes.Count == 0 ? IncidentState.NoAxis
            : isRestarted ? IncidentState.Restarted
            : _out.Count == 0 ? IncidentState.Back
            : _out.Keys.All(_cleared.Contains) ? IncidentState.Cleared
            : IncidentState.Standing;
        BackAfter = State == IncidentState.Back ? backAt - records[0].Record.At : null;
    }

    public IReadOnlyList<string> Axes => _axes;

    public IncidentState State { get; }

    public TimeSpan? BackAfter { get; }

    /// <summary>The first fault of the highest priority, where that is above the one of what leads.</summary>
    public StoredRecord? GraverThan(StoredRecord lead)
    {
        var gravest = _faults.MaxBy(PriorityOf);
        return gravest is not null && PriorityOf(gravest) > PriorityOf(lead) ? gravest : null;
    }

    /// <summary>Takes in a record; gives the time at which the last axis came back with it.</summary>
    private TimeSpan? Take(StoredRecord stored)
    {
        switch (stored.Record)
        {
            case FaultRecord { Class: not FaultClass.Warning } fault:
                _faults.Add(stored);
                if (fault.Axis is { } axis)
                {
                    _out[axis] = fault.State is AxisState.Ready or AxisState.Moving or AxisState.Homing || _out.GetValueOrDefault(axis);
                    _cleared.Remove(axis);
                    if (!_axes.Contains(axis))
                    {
                        _axes.Add(axis);
                    }
                }

                return null;
            case ReturnRecord back when _out.TryGetValue(back.Axis, out var wasOn):
                _cleared.Add(back.Axis);
                return (back.Step == ReturnStep.Ready || !wasOn) && _out.Remove(back.Axis) && _out.Count == 0 ? back.At : null;
            default:
                return null;
        }
    }

    private static FaultPriority PriorityOf(StoredRecord stored) => stored.Record switch
    {
        FaultRecord fault => FaultCatalogue.Entry(fault.Code).Priority,
        AlarmRecord { IsCall: true } alarm => alarm.Priority,
        _ => FaultPriority.None,
    };
}

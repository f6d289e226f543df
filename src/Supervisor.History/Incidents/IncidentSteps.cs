using Supervisor.History.Entries;
using Supervisor.Records.Faults;

namespace Supervisor.History.Incidents;

/// <summary>
/// Decides, record by record in the order of writing, which incident each belongs to and what it follows from. A step machine without clock: time
/// is that of the records. What it decided is stored with the record and never changed, so that every reader sees the same.
/// </summary>
/// <remarks>
/// A fault begins an incident, or joins the current one while its window is not over; so does one of an axis whose recovery is under way. What
/// else happens joins while the window lasts, and what concerns a faulted axis joins until that axis is ready again.
/// </remarks>
internal sealed class IncidentSteps(IncidentRules rules)
{
    private const int MostOpen = 32;

    // A stop is told once it has ended, with the time at which it began; an interlock may have opened before the fault that it led to was seen.
    private static readonly TimeSpan Before = TimeSpan.FromSeconds(1);

    private readonly Consequences _consequences = new(rules);
    private readonly List<OpenIncident> _open = [];

    private OpenIncident? Current => _open.Count > 0 ? _open[^1] : null;

    /// <summary>Takes up an incident of an earlier run of the same boot: its records as they were placed, in the order of writing.</summary>
    public void Recall(IReadOnlyList<(long Sequence, Placement Placement, HistoryRecord Record)> records)
    {
        ArgumentNullException.ThrowIfNull(records);
        foreach (var (sequence, placement, record) in records)
        {
            if (placement.Incident is not { } id)
            {
                continue;
            }

            if (Current?.Id != id)
            {
                _open.Add(new OpenIncident(id, record.At));
            }

            switch (record)
            {
                case FaultRecord { Class: not FaultClass.Warning } fault:
                    Current!.Add(sequence, fault);
                    (Current.Lead, Current.LeadAt) = placement.Relation == Relation.Leads ? (sequence, fault.At) : (Current.Lead, Current.LeadAt);
                    break;
                case RecoveryRecord step:
                    Current!.Note(step);
                    break;
                case NoticeRecord or AlarmRecord { IsCall: true }:
                    Current!.Extend(record.At);
                    break;
                default:
                    break;
            }
        }
    }

    /// <summary>Places the next record. Called once for each.</summary>
    /// <param name="sequence">Its number.</param>
    /// <param name="record">The record.</param>
    public Placement Place(long sequence, HistoryRecord record)
    {
        ArgumentNullException.ThrowIfNull(record);
        _consequences.Note(sequence, record);
        switch (record)
        {
            case FaultRecord { Class: not FaultClass.Warning } fault:
                return Fault(sequence, fault);
            case NoticeRecord notice when Leads(notice.Notice):
                return Call(sequence, notice);
            case AlarmRecord { IsCall: true } alarm:
                return Call(sequence, alarm);
            case StartRecord:
                _open.ForEach(incident => incident.ForgetAxes());
                break;
            default:
                break;
        }

        if (Find(record) is not { } incident)
        {
            return default;
        }

        switch (record)
        {
            case RecoveryRecord step:
                incident.Note(step);
                break;
            case ReturnRecord back:
                incident.Note(back);
                break;
            default:
                break;
        }

        return record switch
        {
            StopRecord stop => _consequences.Of(incident, stop),
            InterlockRecord { Change: InterlockChange.Tripped } trip => Consequences.Of(incident, trip),
            LinkRecord { Axis: null, Restored: false } lost => _consequences.Of(incident, lost),
            CommandRecord command => Consequences.Of(incident, command),
            _ => new Placement(incident.Id),
        };
    }

    private Placement Fault(long sequence, FaultRecord fault)
    {
        var incident = fault.Axis is { } axis ? _open.FindLast(each => each.TroubleOf(axis) is { IsRecovering: true }) : null;
        incident ??= _open.FindLast(each => IsWithin(each, fault.At) && fault.At >= each.FirstAt - rules.Window);
        if (incident is null && Current is { } newest && fault.At < newest.FirstAt - rules.Window)
        {
            // Repeats that were counted for a while and are told at last: the first of them has its incident.
            return default;
        }

        var (relation, cause) = _consequences.Of(incident, fault);
        if (incident is null)
        {
            incident = Open(sequence, fault.At);
            relation = relation == Relation.Further ? Relation.Leads : relation;
            incident.LeadAt = cause?.At ?? fault.At;
        }
        else if (relation == Relation.Further && fault.At < incident.LeadAt)
        {
            (relation, incident.Lead, incident.LeadAt) = (Relation.Leads, sequence, fault.At);
        }

        foreach (var other in _open)
        {
            if (other != incident && fault.Axis is { } name)
            {
                other.Forget(name);
            }
        }

        incident.Add(sequence, fault);
        return new Placement(incident.Id, relation, cause?.Sequence);
    }

    /// <summary>What calls somebody and is no fault of an axis: it joins the current incident, or leads one.</summary>
    private Placement Call(long sequence, HistoryRecord record)
    {
        if (IsWithin(Current, record.At))
        {
            Current!.Extend(record.At);
            return new Placement(Current.Id, Relation.Further);
        }

        return new Placement(Open(sequence, record.At).Id, Relation.Leads);
    }

    private OpenIncident Open(long sequence, TimeSpan at)
    {
        if (_open.Count == MostOpen)
        {
            _open.RemoveAt(Math.Max(0, _open.FindIndex(incident => !incident.HasTroubles)));
        }

        var opened = new OpenIncident(sequence, at);
        _open.Add(opened);
        return opened;
    }

    private OpenIncident? Find(HistoryRecord record)
    {
        var axis = AxisOf(record);
        var incident = axis is not null ? _open.FindLast(each => each.TroubleOf(axis) is not null)
            : record is CommandRecord { Axes.Count: > 0 } command ? _open.FindLast(each => command.Axes.Any(name => each.TroubleOf(name) is not null))
            : null;
        return incident ?? (IsWithin(Current, record.At) && record.At >= Current!.FirstAt - Before ? Current : null);
    }

    private bool IsWithin(OpenIncident? incident, TimeSpan at) => incident is not null && at <= incident.LastAt + rules.Window;

    private static string? AxisOf(HistoryRecord record) => record switch
    {
        FaultRecord warning => warning.Axis,
        StopRecord stop => stop.Axis,
        RecoveryRecord step => step.Axis,
        ReturnRecord back => back.Axis,
        CommandRecord command => command.Axis,
        LinkRecord link => link.Axis,
        ParameterRecord parameter => parameter.Axis,
        TimeoutProofRecord proof => proof.Axis,
        _ => null,
    };

    private static bool Leads(NoticeKind notice) =>
        notice is NoticeKind.RecordsLost or NoticeKind.FileSetAside or NoticeKind.DiskBack or NoticeKind.RunBroke or NoticeKind.FaultsNotTold;
}

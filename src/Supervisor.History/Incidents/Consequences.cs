using Supervisor.History.Entries;
using Supervisor.Records.Faults;

namespace Supervisor.History.Incidents;

/// <summary>What a record of an incident follows from, judged by what was told before it. Only what was seen earlier can be a cause.</summary>
internal sealed class Consequences(IncidentRules rules)
{
    private readonly Dictionary<string, Seen> _trips = new(StringComparer.Ordinal);
    private readonly Dictionary<string, Seen> _lostPorts = new(StringComparer.Ordinal);

    /// <summary>Remembers what faults may follow from without being faults themselves.</summary>
    public void Note(long sequence, HistoryRecord record)
    {
        switch (record)
        {
            case InterlockRecord { Change: InterlockChange.Tripped } trip:
                _trips[trip.Interlock] = new Seen(sequence, trip.At);
                break;
            case LinkRecord { Axis: null, Restored: false } lost:
                _lostPorts[lost.Port] = new Seen(sequence, lost.At);
                break;
            case LinkRecord { Axis: null } back:
                _lostPorts.Remove(back.Port);
                break;
            default:
                break;
        }
    }

    /// <summary>What a fault follows from; <see cref="Relation.Further"/> when from nothing that is known.</summary>
    /// <param name="incident">The incident it belongs to; null when it would begin one.</param>
    /// <param name="fault">The fault.</param>
    public (Relation Relation, Seen? Cause) Of(OpenIncident? incident, FaultRecord fault)
    {
        if (fault.ConsequenceOf.Length > 0)
        {
            return (Relation.HardwareStop, _trips.TryGetValue(fault.ConsequenceOf, out var trip) ? trip : null);
        }

        if (fault.Class == FaultClass.Link && fault.Port is { } port && _lostPorts.TryGetValue(port, out var lost) && IsClose(lost.At, fault.At))
        {
            return (Relation.SameLine, lost);
        }

        foreach (var earlier in incident?.Faults ?? [])
        {
            if (earlier.Record.At <= fault.At && Between(incident!, earlier.Record, fault) is var relation and not Relation.Further)
            {
                return (relation, new Seen(earlier.Sequence, earlier.Record.At));
            }
        }

        return (Relation.Further, null);
    }

    /// <summary>What a stop follows from: the fault of its axis, or of one of its group.</summary>
    public Placement Of(OpenIncident incident, StopRecord stop)
    {
        foreach (var fault in incident.Faults)
        {
            // The stop begins with the trip, which the port may see a cycle before the fault is told.
            if (fault.Record.Axis is { } axis && (fault.Record.At - stop.At).Duration() <= rules.Moment)
            {
                var relation = axis == stop.Axis ? Relation.SameAxis : IsGroupOf(axis, stop.Axis) ? Relation.SameGroup : Relation.None;
                if (relation != Relation.None)
                {
                    return new Placement(incident.Id, relation, fault.Sequence);
                }
            }
        }

        return new Placement(incident.Id);
    }

    /// <summary>A port is told as lost a moment after its drives were: it is what they follow from, and leads where one of them did.</summary>
    public Placement Of(OpenIncident incident, LinkRecord lost)
    {
        foreach (var fault in incident.Faults)
        {
            if (fault.Sequence == incident.Lead && fault.Record.Class == FaultClass.Link && fault.Record.Port == lost.Port && IsClose(fault.Record.At, lost.At))
            {
                return new Placement(incident.Id, Relation.Leads);
            }
        }

        return new Placement(incident.Id);
    }

    /// <summary>What an interlock that opened follows from: a drive that was lost and has one of its inputs. What such an input says nobody knows.</summary>
    public static Placement Of(OpenIncident incident, InterlockRecord trip)
    {
        foreach (var fault in incident.Faults)
        {
            if (fault.Record is { Class: FaultClass.Link, Axis: { } axis } && incident.TroubleOf(axis) is { IsCleared: false }
                && trip.Inputs.Any(input => input.Contains($"{axis}.", StringComparison.Ordinal)))
            {
                return new Placement(incident.Id, Relation.LostInput, fault.Sequence);
            }
        }

        return new Placement(incident.Id);
    }

    /// <summary>What a command that failed follows from: the fault that ended it.</summary>
    public static Placement Of(OpenIncident incident, CommandRecord command)
    {
        foreach (var fault in incident.Faults)
        {
            if (command.Fault != FaultCode.None && fault.Record.Code == command.Fault && fault.Record.Axis == command.Axis)
            {
                return new Placement(incident.Id, Relation.SameAxis, fault.Sequence);
            }
        }

        return new Placement(incident.Id);
    }

    private Relation Between(OpenIncident incident, FaultRecord earlier, FaultRecord later)
    {
        if (earlier.Axis is not null && earlier.Axis == later.Axis)
        {
            return incident.TroubleOf(later.Axis!) is { IsCleared: false } ? Relation.SameAxis
                : earlier.Code == later.Code ? Relation.Again
                : Relation.Further;
        }

        if (!IsClose(earlier.At, later.At))
        {
            return Relation.Further;
        }

        return IsOneLine(earlier, later) ? Relation.SameLine
            : TakesPower(earlier.Code) && LacksPower(later) ? Relation.PowerTaken
            : LacksPower(earlier) && LacksPower(later) && earlier.Axis is not null && later.Axis is not null ? Relation.SameSupply
            : later.Code == FaultCode.ZoneUnproven && earlier.Axis is not null && later.Axis is not null ? Relation.ZoneOfAnother
            : earlier.Axis is { } axis && later.Axis is { } other && IsGroupOf(axis, other) ? Relation.SameGroup
            : Relation.Further;
    }

    private static bool IsOneLine(FaultRecord earlier, FaultRecord later) =>
        later.Port is not null && later.Port == earlier.Port
        && (later.Class == FaultClass.Link ? earlier.Class is FaultClass.Link or FaultClass.Daemon : earlier.Code == FaultCode.PortThreadEnded);

    private static bool TakesPower(FaultCode code) => code is FaultCode.PowerDropped or FaultCode.ContactorFell;

    private static bool LacksPower(FaultRecord fault) =>
        fault.Class is FaultClass.Restart || fault.Code is FaultCode.UnderVoltage or FaultCode.TorqueLostUnexpectedly or FaultCode.PowerDropped;

    private bool IsGroupOf(string axis, string other) =>
        axis != other && rules.Groups.TryGetValue(axis, out var group) && rules.Groups.TryGetValue(other, out var same) && group == same;

    private bool IsClose(TimeSpan earlier, TimeSpan later) => (later - earlier).Duration() <= rules.Moment;

    /// <summary>A record that was seen.</summary>
    internal readonly record struct Seen(long Sequence, TimeSpan At);
}

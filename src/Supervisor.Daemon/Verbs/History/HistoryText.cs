using System.Globalization;
using Supervisor.Api.V1;

namespace Supervisor.Daemon.Verbs.History;

/// <summary>Records and incidents as lines for a person.</summary>
internal static class HistoryText
{
    /// <summary>One line: when, its number, what it concerns, what happened, what it belongs to.</summary>
    public static string Line(HistoryRecord record) => $"{Time(record)}  #{record.Sequence}  {Sentence(record)}{Mark(record)}";

    /// <summary>What it concerns and what happened.</summary>
    public static string Sentence(HistoryRecord record)
    {
        var place = Place(record);
        return place.Length > 0 ? $"{place}: {record.Text}" : record.Text;
    }

    /// <summary>What a record concerns; empty where its text says it.</summary>
    public static string Place(HistoryRecord record) => record.Kind == RecordKind.Command ? ""
        : record.Axis.Length > 0 ? record.Axis
        : record.Interlock.Length > 0 ? record.Interlock
        : record.Port.Length > 0 ? record.Port
        : record.Kind == RecordKind.Fault ? "machine"
        : "";

    /// <summary>The time of day in this computer's zone; where it is not known, what is.</summary>
    public static string Time(HistoryRecord record) => record.Time is null
        ? string.Create(CultureInfo.InvariantCulture, $"before the clock was set, {record.SinceBootS:0.000} s after the board's start")
        : Text.Time(record.Time, isTrusted: true) + (record.TimeQuality == TimeQuality.Unsynchronised ? " (clock not synchronised)" : "");

    /// <summary>What it follows from, or which incident it leads or belongs to.</summary>
    public static string Mark(HistoryRecord record) => record.Relation == Relation.Leads ? $"  [leads incident {record.Incident}]"
        : Why(record.Relation) is { Length: > 0 } why ? $"  [{(record.Relation == Relation.Again ? "as" : "follows from")} {(record.Follows != 0 ? $"#{record.Follows}" : "another")}: {why}]"
        : record.Incident != 0 ? $"  [incident {record.Incident}]"
        : "";

    /// <summary>Why a record follows from another; empty when it does not.</summary>
    public static string Why(Relation relation) => relation switch
    {
        Relation.HardwareStop => "its hardware took the power",
        Relation.SameLine => "the same line",
        Relation.SameAxis => "the same axis",
        Relation.SameGroup => "the same group",
        Relation.SameSupply => "likely the same supply",
        Relation.ZoneOfAnother => "the zone's other axis",
        Relation.PowerTaken => "the power was dropped",
        Relation.Again => "the same again",
        Relation.LostInput => "its inputs are on that drive",
        _ => "",
    };

    public static string Gap(RecordGap gap) => gap.Missing == gap.LastSequence - gap.FirstSequence + 1
        ? $"records #{gap.FirstSequence} to #{gap.LastSequence} are not kept any more"
        : $"{gap.Missing} of the records #{gap.FirstSequence} to #{gap.LastSequence} are not kept any more";

    /// <summary>One line: when, its number, what led, how many, how long.</summary>
    public static string Line(Incident incident)
    {
        var parts = new List<string> { Sentence(incident.Lead) };
        if (incident.Faults > 1 || (incident.Faults == 1 && incident.Consequences == 1))
        {
            var consequences = incident.Consequences == 0 ? "" : incident.Consequences == incident.Faults ? ", none of its own" : $", {incident.Consequences} as {(incident.Consequences == 1 ? "a consequence" : "consequences")}";
            parts.Add($"{incident.Faults} fault{(incident.Faults == 1 ? "" : "s")}{consequences}");
        }

        if (incident.Gravest is { } gravest)
        {
            parts.Add($"graver: {Place(gravest)}: {Text.Words(gravest.Fault)}");
        }

        var state = State(incident);
        if (state.Length > 0)
        {
            parts.Add(state);
        }

        return $"{Time(incident.Lead)}  incident {incident.Number}  {string.Join("; ", parts)}";
    }

    /// <summary>How an incident stands.</summary>
    public static string State(Incident incident) => incident.State switch
    {
        IncidentState.Back => $"back after {Duration(incident.BackAfterS)}",
        IncidentState.Standing => "still faulted",
        IncidentState.Cleared => "cleared, not enabled since",
        IncidentState.Restarted => "the supervisor was started anew before the axes were back",
        _ => "",
    };

    /// <summary>A time in the units that a person would use.</summary>
    public static string Duration(double seconds)
    {
        var time = TimeSpan.FromSeconds(seconds);
        return FormattableString.Invariant(
            time.TotalMinutes < 1 ? $"{time.TotalSeconds:0.0} s"
            : time.TotalHours < 1 ? $"{time.Minutes} min {time.Seconds} s"
            : time.TotalDays < 1 ? $"{time.Hours} h {time.Minutes} min"
            : (FormattableString)$"{time.Days} d {time.Hours} h");
    }
}

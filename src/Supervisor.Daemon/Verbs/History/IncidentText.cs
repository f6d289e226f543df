using System.Globalization;
using Supervisor.Api.V1;

namespace Supervisor.Daemon.Verbs.History;

/// <summary>A whole incident for a person: what came first, what to do, then everything in order.</summary>
internal static class IncidentText
{
    public static void Print(GetIncidentResponse story, TextWriter to)
    {
        var incident = story.Incident;
        to.WriteLine($"Incident {incident.Number}, {HistoryText.Time(incident.Lead)}");
        var origin = Origin(story);
        to.WriteLine();
        to.WriteLine("What came first");
        to.WriteLine($"    {HistoryText.Sentence(incident.Lead)}");
        if (incident.Gravest is { } gravest)
        {
            to.WriteLine($"    Graver than that, {Offset(gravest, origin)}: {HistoryText.Sentence(gravest)}");
        }

        to.WriteLine();
        to.WriteLine("What to do");
        foreach (var line in Advice(story))
        {
            to.WriteLine($"    {line}");
        }

        to.WriteLine();
        to.WriteLine("How it stands");
        to.WriteLine($"    {Standing(incident)}");
        to.WriteLine();
        to.WriteLine("In order, seconds from the first fault");
        foreach (var record in story.Before)
        {
            to.WriteLine($"    {Offset(record, origin),10}  #{record.Sequence}  {HistoryText.Sentence(record)}");
        }

        foreach (var record in story.Records)
        {
            to.WriteLine($"  {(record.Sequence == incident.Lead.Sequence ? ">" : " ")} {Offset(record, origin),10}  #{record.Sequence}  {HistoryText.Sentence(record)}{Why(record, incident)}");
        }

        if (story.LeftOut > 0)
        {
            to.WriteLine($"    and {story.LeftOut} more: history --incident {incident.Number} --limit {story.LeftOut + story.Records.Count}");
        }
    }

    /// <summary>What to do first, then for what does not follow from it.</summary>
    public static IEnumerable<string> Advice(GetIncidentResponse story)
    {
        var lead = story.Incident.Lead;
        if (Beyond(lead) is { Length: > 0 } beyond)
        {
            yield return beyond;
        }

        foreach (var advice in story.Advice)
        {
            yield return $"{(advice.Axes.Count > 0 ? $"{string.Join(", ", advice.Axes)}, " : "")}{advice.Name}: {advice.Meaning}";
            yield return $"    Likely: {string.Join("; ", advice.Causes)}.";
            yield return $"    {advice.Remedy}";
        }

        if (story.Advice.Count == 0 && Beyond(lead).Length == 0)
        {
            yield return "Nothing is known to do beyond what is told.";
        }
    }

    /// <summary>How an incident stands, as a sentence.</summary>
    public static string Standing(Incident incident)
    {
        var axes = string.Join(", ", incident.Axes);
        return incident.State switch
        {
            IncidentState.NoAxis => "No axis was faulted.",
            IncidentState.Standing when incident.Axes.Count == 1 => $"Not over: {axes} is still faulted.",
            IncidentState.Standing => $"Not over: of {axes}, one at least is still faulted.",
            IncidentState.Cleared when incident.Axes.Count == 1 => $"The fault of {axes} is cleared; it was not enabled since.",
            IncidentState.Cleared => $"The faults of {axes} are cleared; what had been enabled was not enabled since.",
            IncidentState.Back => $"{axes}: back after {HistoryText.Duration(incident.BackAfterS)}.",
            _ => $"The supervisor was started anew before {axes} {(incident.Axes.Count == 1 ? "was" : "were")} back; what still stands, it tells as new faults.",
        };
    }

    /// <summary>From where its seconds count: its first fault, also where the loss of a port that explains it was told a moment later.</summary>
    public static HistoryRecord Origin(GetIncidentResponse story) => story.Records.Where(record => record.Kind == RecordKind.Fault).Append(story.Incident.Lead).MinBy(record => record.SinceBootS)!;

    /// <summary>Seconds from the first fault; of another start of the board they don't compare.</summary>
    public static string Offset(HistoryRecord record, HistoryRecord origin) => record.Boot == origin.Boot
        ? (record.SinceBootS - origin.SinceBootS).ToString("+0.000 s;-0.000 s;0.000 s", CultureInfo.InvariantCulture)
        : "later";

    /// <summary>Why it is there, behind its sentence; what only belongs to the incident needs no word.</summary>
    public static string Why(HistoryRecord record, Incident incident) => record.Sequence == incident.Lead.Sequence ? "  [came first]"
        : record.Relation == Relation.Leads && incident.Lead.Kind == RecordKind.Link && record.Port == incident.Lead.Port
            ? $"  [follows from #{incident.Lead.Sequence}: {HistoryText.Why(Relation.SameLine)}]"
        : record.Relation is Relation.Leads or Relation.Further && record.Kind == RecordKind.Fault ? "  [of its own, as far as known]"
        : record.Relation is Relation.Leads or Relation.Unspecified ? ""
        : HistoryText.Mark(record);

    // Where no fault of the catalogue came first.
    private static string Beyond(HistoryRecord lead) => lead.Kind switch
    {
        RecordKind.Interlock => $"Find out why {lead.Interlock} opened. Close and reset it, then reset the axes: their faults only tell of the power that its hardware took.",
        RecordKind.Link => $"Look at the adapter of {lead.Port}, its plug and its cable; the drives on it were lost with it.",
        RecordKind.Notice or RecordKind.Alarm => lead.Text,
        _ => "",
    };
}

using System.Globalization;
using System.Text;
using Supervisor.Api.V1;
using Supervisor.Daemon.Verbs.History;
using Supervisor.History.Outbox;
using Supervisor.Records;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Messages;

/// <summary>Messages as plain text for a person who is not at the machine.</summary>
internal static class MessageText
{
    private const int MostLines = 15;
    private const int MostTold = 25;

    /// <summary>What stands under every message.</summary>
    public const string Footer = "Sent by itself by axis-supervisor, which is not a safety device: see that the machine is safe before anyone reaches in or resets. Answers are read by nobody.";

    /// <summary>Title of an incident.</summary>
    public static string Title(string machine, Incident incident) => $"{machine}: {Brief(incident)}";

    /// <summary>What led in a few words, and the number.</summary>
    public static string Brief(Incident incident)
    {
        var gravest = incident.Gravest is { } graver ? $", graver: {Named(graver)}" : "";
        return $"{Named(incident.Lead)}{gravest} (incident {incident.Number})";
    }

    /// <summary>Title of the end of an incident.</summary>
    public static string EndTitle(string machine, Incident incident) => $"{machine}: over: {Brief(incident)}";

    /// <summary>Title of several.</summary>
    public static string SummaryTitle(string machine, int count) => $"{machine}: {Counted.Of(count, "further incident")}";

    /// <summary>An incident.</summary>
    /// <param name="machine">Name of the machine.</param>
    /// <param name="story">The incident.</param>
    /// <param name="priority">Its priority.</param>
    /// <param name="own">What the builder says to do about alarms of the machine file in it.</param>
    public static string Of(string machine, GetIncidentResponse story, int priority, IEnumerable<string> own)
    {
        var incident = story.Incident;
        var origin = IncidentText.Origin(story);
        var text = new StringBuilder();
        Head(text, machine, $"incident {incident.Number}, priority {Word(priority)}");
        Section(text, "When", [When(incident.Lead)]);
        Section(text, "What came first", incident.Gravest is { } gravest
            ? [HistoryText.Sentence(incident.Lead), $"Graver than that, {IncidentText.Offset(gravest, origin)}: {HistoryText.Sentence(gravest)}"]
            : [HistoryText.Sentence(incident.Lead)]);
        Section(text, "What the machine was doing before", Lines(story.Before, origin, fromEnd: true, most: 5));
        Section(text, "What followed from it", Lines(Consequences(story), origin));
        Section(text, "What the machine did", Lines(Reactions(story), origin));
        Section(text, "What to do", own.Concat(IncidentText.Advice(story)));
        Section(text, "How it stands", [IncidentText.Standing(incident)]);
        Foot(text, $"axis-supervisor incident {incident.Number}");
        return text.ToString();
    }

    /// <summary>The end of one.</summary>
    public static string OfEnd(string machine, GetIncidentResponse story)
    {
        var text = new StringBuilder();
        Head(text, machine, $"incident {story.Incident.Number} is over");
        Section(text, "What came first", [$"{When(story.Incident.Lead)}: {HistoryText.Sentence(story.Incident.Lead)}"]);
        Section(text, "How it stands", [IncidentText.Standing(story.Incident)]);
        Foot(text, $"axis-supervisor incident {story.Incident.Number}");
        return text.ToString();
    }

    /// <summary>One of which nothing is kept any more.</summary>
    public static string OfLost(string machine, long incident)
    {
        var text = new StringBuilder();
        Head(text, machine, $"incident {incident}");
        Section(text, "What came first", ["Its records are no longer kept: it waited longer than the history reaches back."]);
        Foot(text, "axis-supervisor incident");
        return text.ToString();
    }

    /// <summary>Several.</summary>
    public static string OfSummary(string machine, IReadOnlyList<ToldIncidentJson> told, int perHour)
    {
        var text = new StringBuilder();
        Head(text, machine, $"{Counted.Of(told.Count, "further incident")}, told together: more than {Counted.Of(perHour, "message")} in an hour are not sent");
        var groups = told.GroupBy(each => each.Cause).ToArray();
        Section(text, "What came first", groups.Take(MostTold).SelectMany(group => Alike([.. group])));
        if (groups.Length > MostTold)
        {
            text.Append(CultureInfo.InvariantCulture, $"    and {groups.Skip(MostTold).Sum(group => group.Count())} more of {groups.Length - MostTold} other causes\n\n");
        }

        Foot(text, "axis-supervisor incident");
        return text.ToString();
    }

    /// <summary>A trial.</summary>
    public static string OfTrial(string machine, string channel)
    {
        var text = new StringBuilder();
        Head(text, machine, "a trial");
        Section(text, "What it is", [$"Somebody tried the channel {channel}. Nothing happened at the machine."]);
        Foot(text, "axis-supervisor messages");
        return text.ToString();
    }

    /// <summary>Faults that follow from another.</summary>
    public static IEnumerable<HistoryRecord> Consequences(GetIncidentResponse story) =>
        story.Records.Where(record => (record.Kind == RecordKind.Fault || record is { Kind: RecordKind.Alarm, Relation: Relation.Further }) && record.Sequence != story.Incident.Lead.Sequence);

    /// <summary>Stops, recoveries and what was switched off.</summary>
    public static IEnumerable<HistoryRecord> Reactions(GetIncidentResponse story) =>
        story.Records.Where(record => record.Kind is RecordKind.Stop or RecordKind.Recovery or RecordKind.Return);

    /// <summary>Word of a priority.</summary>
    public static string Word(int priority) => ((FaultPriority)priority).ToString().ToLowerInvariant();

    /// <summary>The time of day with its offset, or that it is not known.</summary>
    public static string When(HistoryRecord record)
    {
        if (record.Time is null)
        {
            return string.Create(CultureInfo.InvariantCulture, $"the time of day is not known, the board's clock had not been set; {record.SinceBootS:0.000} s after the board's start");
        }

        var time = record.Time.ToDateTimeOffset().ToLocalTime().ToString("yyyy-MM-dd HH:mm:ss.fff 'UTC'zzz", CultureInfo.InvariantCulture);
        return record.TimeQuality == TimeQuality.Unsynchronised ? $"{time} by the board's clock, which was not synchronised" : time;
    }

    private static string Named(HistoryRecord record)
    {
        var words = record.Fault.Length > 0 ? Verbs.Text.Words(record.Fault) : Short(record.Kind == RecordKind.Alarm ? record.Text : FirstSentence(record.Text));
        return HistoryText.Place(record) is { Length: > 0 } place ? $"{place}: {words}" : words;
    }

    // A title is one line, and is read on a small screen.
    private static string FirstSentence(string text)
    {
        var end = text.IndexOfAny(['.', ':', ';']);
        return end > 0 ? text[..end] : text;
    }

    private static string Short(string text) => text.Length > 80 ? text[..77] + "..." : text;

    private static IEnumerable<string> Alike(IReadOnlyList<ToldIncidentJson> alike)
    {
        var (first, last) = (alike[0], alike[^1]);
        yield return alike.Count == 1 ? first.Title : $"{first.Title}, and {alike.Count - 1} more of this cause, the last incident {last.Number}";
        yield return alike.Count == 1 ? $"    {first.When}" : $"    {first.When} to {last.When}";
    }

    private static List<string> Lines(IEnumerable<HistoryRecord> records, HistoryRecord origin, bool fromEnd = false, int most = MostLines)
    {
        var all = records.ToArray();
        var shown = fromEnd ? all.TakeLast(most) : all.Take(most);
        var lines = shown.Select(record => $"{IncidentText.Offset(record, origin)}  {HistoryText.Sentence(record)}").ToList();
        if (!fromEnd && all.Length > most)
        {
            lines.Add($"and {all.Length - most} more");
        }

        return lines;
    }

    private static void Head(StringBuilder text, string machine, string what) => text.Append(CultureInfo.InvariantCulture, $"{machine}: {what}\n\n");

    private static void Section(StringBuilder text, string title, IEnumerable<string> lines)
    {
        var all = lines.ToArray();
        if (all.Length == 0)
        {
            return;
        }

        text.Append(title).Append('\n');
        foreach (var line in all)
        {
            text.Append("    ").Append(line).Append('\n');
        }

        text.Append('\n');
    }

    private static void Foot(StringBuilder text, string command) => text.Append(CultureInfo.InvariantCulture, $"At the machine's computer: {command}\n\n{Footer}\n");
}

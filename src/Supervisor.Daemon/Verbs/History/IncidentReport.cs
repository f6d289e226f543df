using System.Globalization;
using System.Text;
using System.Xml;
using System.Xml.Linq;
using Supervisor.Api.V1;

namespace Supervisor.Daemon.Verbs.History;

/// <summary>A figure of a report: a title and an SVG element that refers to nothing outside.</summary>
internal sealed record ReportFigure(string Title, XElement Svg);

/// <summary>
/// An incident as one HTML file that opens anywhere without a network and prints: styles inside, no script, nothing loaded. Written as XML, so that
/// whatever a name or a message holds stays text.
/// </summary>
internal static class IncidentReport
{
    private static readonly XNamespace Html = "http://www.w3.org/1999/xhtml";

    private const string Style = """
        body { font: 16px/1.45 sans-serif; color: #1b1b1b; background: #fff; margin: 0 auto; padding: 1em; max-width: 60em; }
        h1 { font-size: 1.5em; margin: 0 0 .2em; }
        h2 { font-size: 1.15em; margin: 1.6em 0 .4em; border-bottom: 1px solid #888; }
        .first { border-left: .4em solid #1b1b1b; padding: .2em 0 .2em .8em; font-size: 1.1em; }
        .do li { margin-bottom: .7em; }
        table { border-collapse: collapse; width: 100%; }
        th, td { text-align: left; vertical-align: top; padding: .25em .5em; border-bottom: 1px solid #ccc; }
        td.number { text-align: right; white-space: nowrap; }
        tr.lead td { font-weight: bold; }
        tr.before td { color: #555; }
        tr.follows td.what { padding-left: 1.8em; }
        .why, .small { color: #555; font-size: .9em; }
        td.what, p { overflow-wrap: anywhere; }
        svg { max-width: 100%; height: auto; }
        @media (max-width: 35em) { body { padding: .6em; } th.id, td.id { display: none; } }
        @media print { body { font-size: 10pt; max-width: none; padding: 0; } h2, tr, figure { break-inside: avoid; } h2 { break-after: avoid; } }
        """;

    /// <summary>Writes the file as a whole: one that was there is only replaced by a complete one.</summary>
    /// <exception cref="IOException">It can't be written.</exception>
    /// <exception cref="UnauthorizedAccessException">It may not be written.</exception>
    public static void Write(string path, GetIncidentResponse story, string machine, DateTimeOffset now, IReadOnlyList<ReportFigure> figures)
    {
        var unfinished = path + ".part";
        using (var writer = XmlWriter.Create(unfinished, new XmlWriterSettings { Encoding = new UTF8Encoding(false), OmitXmlDeclaration = true, CheckCharacters = true }))
        {
            Compose(story, machine, now, figures).Save(writer);
        }

        File.Move(unfinished, path, overwrite: true);
    }

    public static XDocument Compose(GetIncidentResponse story, string machine, DateTimeOffset now, IReadOnlyList<ReportFigure> figures)
    {
        var incident = story.Incident;
        var title = $"{machine}: incident {incident.Number}";
        return new XDocument(
            new XDocumentType("html", null, null, null),
            E("html", new XAttribute("lang", "en"),
                E("head",
                    E("meta", new XAttribute("charset", "utf-8")),
                    E("meta", new XAttribute("name", "viewport"), new XAttribute("content", "width=device-width, initial-scale=1")),
                    E("title", Clean(title)),
                    E("style", Style)),
                E("body",
                    E("h1", Clean(title)),
                    P("small", $"{HistoryText.Time(incident.Lead)}{Zone(incident.Lead)}; {incident.Faults} {(incident.Faults == 1 ? "fault" : "faults")}{(incident.Consequences > 0 ? $", {incident.Consequences} as consequences" : "")}."),
                    E("h2", "What came first"),
                    P("first", HistoryText.Sentence(incident.Lead)),
                    incident.Gravest is { } gravest ? P("", $"Graver than that, {IncidentText.Offset(gravest, IncidentText.Origin(story))}: {HistoryText.Sentence(gravest)}") : null,
                    E("h2", "What to do"),
                    Advice(story),
                    E("h2", "How it stands"),
                    P("", IncidentText.Standing(incident)),
                    E("h2", "In order"),
                    Table(story),
                    story.LeftOut > 0 ? P("", $"{story.LeftOut} more records are in the history.") : null,
                    Figures(figures),
                    P("small", $"Times count from the first fault. What follows from what is judged from the order and kind of the records: it helps to look, it proves nothing. The supervisor is not a safety device. Written {now.ToString("yyyy-MM-dd HH:mm zzz", CultureInfo.InvariantCulture)}."))));
    }

    private static string Zone(HistoryRecord lead) =>
        lead.Time is { } time ? $", UTC{time.ToDateTimeOffset().ToLocalTime().ToString("zzz", CultureInfo.InvariantCulture)}" : "";

    private static XElement Advice(GetIncidentResponse story)
    {
        var list = E("ul", new XAttribute("class", "do"));
        foreach (var line in IncidentText.Advice(story))
        {
            if (line.StartsWith(' ') && list.LastNode is XElement last)
            {
                last.Add(E("br"), Clean(line.Trim()));
            }
            else
            {
                list.Add(E("li", Clean(line)));
            }
        }

        return list;
    }

    private static XElement Table(GetIncidentResponse story)
    {
        var (lead, origin) = (story.Incident.Lead, IncidentText.Origin(story));
        return E("table",
            E("thead", E("tr", E("th", "from then"), E("th", new XAttribute("class", "id"), "no."), E("th", "what"))),
            E("tbody",
                story.Before.Select(record => Row(record, origin, record.Sequence == lead.Sequence ? "lead" : "before", "")),
                story.Records.Select(record => Row(
                    record, origin, record.Sequence == lead.Sequence ? "lead" : HistoryText.Why(record.Relation).Length > 0 ? "follows" : "of", IncidentText.Why(record, story.Incident).Trim()))));
    }

    private static XElement Row(HistoryRecord record, HistoryRecord origin, string kind, string why) => E(
        "tr", new XAttribute("class", kind),
        E("td", new XAttribute("class", "number"), IncidentText.Offset(record, origin)),
        E("td", new XAttribute("class", "number id"), record.Sequence),
        E("td", new XAttribute("class", "what"), Clean(HistoryText.Sentence(record)), why.Length > 0 ? E("span", new XAttribute("class", "why"), $" {Clean(why)}") : null));

    private static object[]? Figures(IReadOnlyList<ReportFigure> figures) => figures.Count == 0 ? null : new object[]
    {
        E("h2", "Recorded"),
        figures.Select(figure => E("figure", figure.Svg, E("figcaption", Clean(figure.Title)))).ToArray(),
    };

    private static XElement P(string kind, string text) => E("p", kind.Length > 0 ? new XAttribute("class", kind) : null, Clean(text));

    private static XElement E(string name, params object?[] content) => new(Html + name, content);

    // Characters that XML can't hold, such as a bell from a drive's text, would make the file unreadable.
    private static string Clean(string text) => string.Concat(text.EnumerateRunes().Select(rune => rune.Value < 0x20 && rune.Value is not (0x9 or 0xA or 0xD) || rune.Value is 0xFFFE or 0xFFFF ? "\uFFFD" : rune.ToString()));
}

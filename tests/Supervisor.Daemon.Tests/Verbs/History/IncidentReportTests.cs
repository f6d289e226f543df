using System.Xml;
using System.Xml.Linq;
using Google.Protobuf.WellKnownTypes;
using Supervisor.Api.V1;
using Supervisor.Daemon.Verbs.History;

namespace Supervisor.Daemon.Tests.Verbs.History;

public sealed class IncidentReportTests
{
    private static readonly DateTimeOffset Now = new(2031, 5, 6, 9, 0, 0, TimeSpan.Zero);

    [Fact]
    public void Write_Incident_IsWellFormedAndRefersToNothingOutside()
    {
        using var folder = new TemporaryFolder();
        var path = Path.Combine(folder.Path, "report.html");

        IncidentReport.Write(path, Story(), "Saw & <mill>", Now, []);

        var text = File.ReadAllText(path);
        using var reader = XmlReader.Create(new StringReader(text), new XmlReaderSettings { DtdProcessing = DtdProcessing.Parse, XmlResolver = null });
        var document = XDocument.Load(reader);
        Assert.StartsWith("<!DOCTYPE html", text, StringComparison.OrdinalIgnoreCase);

        // HTML elements and attributes that load something (HTML Living Standard, 4.8 and 2.4); styles load by url() and @import (CSS Values 4.5, Cascade 2).
        Assert.DoesNotContain(document.Descendants(), element => element.Name.LocalName is "script" or "link" or "img" or "iframe" or "object" or "embed" or "base" or "audio" or "video");
        Assert.DoesNotContain(document.Descendants().Attributes(), attribute => attribute.Name.LocalName is "src" or "href" or "srcset" or "action" or "background" or "data");
        var style = document.Descendants().Single(element => element.Name.LocalName == "style").Value;
        Assert.DoesNotContain("url(", style, StringComparison.Ordinal);
        Assert.DoesNotContain("@import", style, StringComparison.Ordinal);
        Assert.DoesNotContain("://", text.Replace("http://www.w3.org/1999/xhtml", "", StringComparison.Ordinal), StringComparison.Ordinal);
        Assert.False(File.Exists(path + ".part"));
    }

    [Fact]
    public void Compose_Incident_SaysWhatCameFirstAndWhatToDoBeforeTheRest()
    {
        var body = IncidentReport.Compose(Story(), "Saw & <mill>", Now, []).Root!.Value;

        string[] inOrder =
        [
            "Saw & <mill>: incident 41", "What came first", "lift: following error <b>loud</b>", "Graver than that, +0.120 s: lift: stop failed", "What to do", "Look for a heavy axis.",
            "How it stands", "back after 2 min 5 s", "In order", "-3.000 s", "move lift 5 mm by panel", "[came first]", "[follows from #41: the same group]",
        ];
        var at = 0;
        foreach (var part in inOrder)
        {
            var found = body.IndexOf(part, at, StringComparison.Ordinal);
            Assert.True(found >= 0, $"'{part}' is missing behind {body[..at]}");
            at = found + part.Length;
        }

        Assert.Contains("the bell \uFFFD rings", body, StringComparison.Ordinal);
    }

    [Fact]
    public void Compose_WithAFigure_HoldsItAsItIs()
    {
        XNamespace svg = "http://www.w3.org/2000/svg";
        var figure = new ReportFigure("lift, position", new XElement(svg + "svg", new XElement(svg + "path", new XAttribute("d", "M0 0L1 1"))));

        var document = IncidentReport.Compose(Story(), "m", Now, [figure]);

        Assert.Equal("M0 0L1 1", document.Descendants(svg + "path").Single().Attribute("d")!.Value);
        Assert.Contains("lift, position", document.Root!.Value, StringComparison.Ordinal);
        Assert.DoesNotContain("Recorded", IncidentReport.Compose(Story(), "m", Now, []).Root!.Value, StringComparison.Ordinal);
    }

    [Fact]
    public void Print_Incident_TellsAPersonWhatToDo()
    {
        var to = new StringWriter();
        IncidentText.Print(Story(), to);

        var text = to.ToString();
        Assert.True(text.IndexOf("Look for a heavy axis.", StringComparison.Ordinal) < text.IndexOf("In order", StringComparison.Ordinal), text);
        Assert.Contains(">    0.000 s  #41  lift: following error", text, StringComparison.Ordinal);
        Assert.Contains("    +0.120 s  #42  lift: stop failed  [follows from #41: the same axis]", text, StringComparison.Ordinal);
    }

    [Fact]
    public void Line_TimeBeforeTheClockWasSet_SaysSoAndLiesNot()
    {
        var record = new HistoryRecord { Sequence = 3, SinceBootS = 12.3456, TimeQuality = TimeQuality.Unknown, Axis = "lift", Text = "following error", Kind = RecordKind.Fault };

        Assert.Equal("before the clock was set, 12.346 s after the board's start  #3  lift: following error", HistoryText.Line(record));
        Assert.Null(HistoryJsonRecord.From(record).Time);
    }

    private static GetIncidentResponse Story()
    {
        var lead = Record(41, 100, "lift", "following error <b>loud</b>", Relation.Leads);
        var grave = Record(42, 100.12, "lift", "stop failed", Relation.SameAxis, 41);
        var incident = new Incident { Number = 41, Lead = lead, Gravest = grave, Faults = 2, Consequences = 1, State = IncidentState.Back, BackAfterS = 125 };
        incident.Axes.Add("lift");
        var story = new GetIncidentResponse { Incident = incident };
        story.Before.Add(new HistoryRecord { Sequence = 39, SinceBootS = 97, Boot = "b", Kind = RecordKind.Command, Text = "move lift 5 mm by panel done", Time = lead.Time });
        story.Records.Add([lead, grave, Record(43, 100.2, "saw", "the bell \u0007 rings", Relation.SameGroup, 41)]);
        story.Advice.Add(new Advice { Fault = "FOLLOWING_ERROR", Name = "following error", Meaning = "It lags.", Remedy = "Look for a heavy axis.", Causes = { "jammed", "heavy" }, Axes = { "lift" } });
        return story;
    }

    private static HistoryRecord Record(long sequence, double at, string axis, string text, Relation relation, long follows = 0) => new()
    {
        Sequence = sequence, SinceBootS = at, Boot = "b", Kind = RecordKind.Fault, Axis = axis, Text = text, Incident = 41, Relation = relation, Follows = follows, Count = 1,
        TimeQuality = TimeQuality.Synchronised, Time = Timestamp.FromDateTimeOffset(new DateTimeOffset(2031, 5, 6, 3, 0, 0, TimeSpan.Zero)),
    };

    private sealed class TemporaryFolder : IDisposable
    {
        public string Path { get; } = Directory.CreateTempSubdirectory("report-").FullName;

        public void Dispose() => Directory.Delete(Path, recursive: true);
    }
}

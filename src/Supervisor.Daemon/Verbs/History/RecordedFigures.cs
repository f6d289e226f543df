using System.Globalization;
using System.Xml.Linq;
using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;
using Supervisor.Daemon.Plotting;
using Supervisor.Daemon.Verbs.Traces;

namespace Supervisor.Daemon.Verbs.History;

/// <summary>The recordings of an incident, drawn for its report.</summary>
internal static class RecordedFigures
{
    // What a report holds must stay readable: the first recordings show how it began.
    private const int MostFigures = 6;

    private static readonly string[] Channels = ["position", "velocity", "torque", "following", "inputs"];
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(30);

    /// <summary>Reads and draws, oldest first; empty where nothing was recorded or kept.</summary>
    /// <param name="daemon">The running daemon.</param>
    /// <param name="incident">Number of the incident.</param>
    /// <param name="cancellation">Ends it.</param>
    public static async Task<IReadOnlyList<ReportFigure>> ReadAsync(DaemonConnection daemon, long incident, CancellationToken cancellation)
    {
        var recordings = new List<RecordingEntry>();
        var token = "";
        do
        {
            var page = await daemon.Trace.ListRecordingsAsync(
                new ListRecordingsRequest { Incident = incident, PageToken = token }, deadline: DateTime.UtcNow + Patience, cancellationToken: cancellation);
            recordings.AddRange(page.Recordings.Where(entry => entry.HasSamples));
            token = page.NextPageToken;
        }
        while (token.Length > 0);

        var figures = new List<ReportFigure>();
        foreach (var entry in recordings.OrderBy(entry => entry.Sequence).Take(MostFigures))
        {
            figures.Add(await DrawAsync(daemon, entry, cancellation));
        }

        return figures;
    }

    private static async Task<ReportFigure> DrawAsync(DaemonConnection daemon, RecordingEntry entry, CancellationToken cancellation)
    {
        using var call = daemon.Trace.ReadRecording(new ReadRecordingRequest { Sequence = entry.Sequence }, deadline: DateTime.UtcNow + Patience, cancellationToken: cancellation);
        var begin = new RecordingBegin();
        var samples = new List<TraceSample>();
        var gaps = new List<TraceGap>();
        await foreach (var message in call.ResponseStream.ReadAllAsync(cancellation))
        {
            switch (message.EventCase)
            {
                case ReadRecordingResponse.EventOneofCase.Begin:
                    begin = message.Begin;
                    gaps.AddRange(begin.Gaps);
                    break;
                case ReadRecordingResponse.EventOneofCase.Batch:
                    samples.AddRange(message.Batch.Samples);
                    gaps.AddRange(message.Batch.Gaps);
                    break;
                default:
                    break;
            }
        }

        var what = entry.Axis.Length > 0 ? $"{entry.Axis}: {entry.What}" : entry.What;
        var svg = SvgPlot.Draw(
            what, TracePanels.Of(begin.Trace?.Axes ?? [], samples, gaps, Channels, begin.EventUs), "time since the event", [new PlotMark(0, entry.What)],
            TracePanels.Gaps(gaps, begin.EventUs));
        return new ReportFigure(Title(entry, what, begin.MoreGaps), XElement.Parse(svg));
    }

    private static string Title(RecordingEntry entry, string what, int moreGaps) => string.Create(
        CultureInfo.InvariantCulture,
        $"Recording {entry.Sequence}, {what}: {entry.BeforeS:0.#} s before to {entry.AfterS:0.#} s after{GapText(entry.Gaps, moreGaps)}. `trace --recording {entry.Sequence}` tells each sample.");

    private static string GapText(int gaps, int more) => gaps switch
    {
        0 => ", no gap",
        1 => ", 1 gap",
        _ when more > 0 => $", {gaps} gaps, of which {more} are not drawn",
        _ => $", {gaps} gaps",
    };
}

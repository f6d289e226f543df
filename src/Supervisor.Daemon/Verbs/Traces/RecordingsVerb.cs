using System.CommandLine;
using System.Globalization;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Verbs.Traces;

/// <summary><c>recordings [--limit N] [--json]</c>: what was recorded around faults and stops.</summary>
internal static class RecordingsVerb
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(10);

    public static Command Build()
    {
        var limit = Numbers.Integer("--limit", "N", "Most recordings to list.", 1, 100_000, 50);
        var json = ClientOptions.Json();
        var server = ClientOptions.Server();
        var verb = new Command("recordings", "List recordings of every axis around faults and stops, newest first. `trace --recording NUMBER` shows one.") { limit, json, server };
        verb.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            async (daemon, ends) =>
            {
                var recordings = await ListAsync(daemon, parsed.GetValue(limit), ends);
                if (parsed.GetValue(json))
                {
                    JsonOut.Print(new RecordingsJson([.. recordings.Select(ToJson)]), JsonShapes.Readable.RecordingsJson);
                }
                else
                {
                    Print(recordings);
                }

                return ExitCode.Done;
            },
            cancellation));
        return verb;
    }

    private static async Task<IReadOnlyList<RecordingEntry>> ListAsync(DaemonConnection daemon, int limit, CancellationToken cancellation)
    {
        var recordings = new List<RecordingEntry>();
        var token = "";
        do
        {
            var page = await daemon.Trace.ListRecordingsAsync(
                new ListRecordingsRequest { PageSize = limit - recordings.Count, PageToken = token }, deadline: DateTime.UtcNow + Patience, cancellationToken: cancellation);
            recordings.AddRange(page.Recordings);
            token = page.NextPageToken;
        }
        while (token.Length > 0 && recordings.Count < limit);
        return recordings;
    }

    private static void Print(IReadOnlyList<RecordingEntry> recordings)
    {
        if (recordings.Count == 0)
        {
            Console.Out.WriteLine("nothing recorded");
        }

        foreach (var entry in recordings)
        {
            var events = entry.Events > 1 ? $", {entry.Events} events" : "";
            var gaps = entry.Gaps switch
            {
                0 => "no gap",
                1 => "1 gap",
                _ => $"{entry.Gaps} gaps",
            };
            Console.Out.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"{entry.Sequence,8}  {Text.Time(entry.Time, entry.TimeTrusted)}  {(entry.Axis.Length > 0 ? $"{entry.Axis}: " : "")}{entry.What}: {entry.BeforeS:0.#} s before to {entry.AfterS:0.#} s after{events}, {gaps}{(entry.EventsBeyond > 0 ? ", cut at its longest" : "")}{(entry.HasSamples ? "" : ", samples not kept")}"));
        }
    }

    private static RecordingJson ToJson(RecordingEntry entry) => new(
        entry.Sequence, entry.Time.ToDateTime().ToString("O", CultureInfo.InvariantCulture), entry.TimeTrusted, entry.Incident > 0 ? entry.Incident : null,
        entry.Axis.Length > 0 ? entry.Axis : null, entry.What, entry.BeforeS, entry.AfterS, entry.Events, entry.EventsBeyond, entry.Gaps, entry.HasSamples);
}

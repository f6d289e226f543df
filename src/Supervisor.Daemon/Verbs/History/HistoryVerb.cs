using System.CommandLine;
using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Verbs.History;

/// <summary><c>history</c>: everything that was recorded, newest first, or live with <c>--follow</c>.</summary>
internal static class HistoryVerb
{
    private const int MostListed = 10_000_000;
    private const int Page = 1_000;
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(30);

    public static Command Build()
    {
        var verb = new Command("history", "List what was recorded, newest first: faults, stops, interlocks, commands and who gave them, starts and ends.");
        var filter = new FilterOptions(verb);
        var kind = new Option<RecordKind[]>("--kind")
        {
            Description = $"Only records of this kind; may be given several times: {string.Join(", ", Kinds.Keys)}.", HelpName = "KIND", AllowMultipleArgumentsPerToken = false, CustomParser = ReadKinds,
        };
        var incident = Numbers.Integer("--incident", "N", "Only of this incident.", 0, int.MaxValue, 0);
        var limit = Numbers.Integer("--limit", "N", "Most records to list.", 1, MostListed, 50);
        var follow = new Option<bool>("--follow") { Description = "Go on with what is recorded from now on, oldest first, until Ctrl-C." };
        var from = Numbers.Integer("--from", "N", "With --follow: begin behind this number, 0 with the oldest, so that nothing is missed after a break.", 0, int.MaxValue, 0);
        var csv = new Option<bool>("--csv") { Description = "Print comma-separated values (RFC 4180)." };
        var json = new Option<bool>("--json") { Description = "Print JSON, a line for each record." };
        var server = ClientOptions.Server();
        foreach (var option in (Option[])[kind, incident, limit, follow, from, csv, json, server])
        {
            verb.Options.Add(option);
        }

        verb.Check(result =>
        {
            if (result.GetResult(from) is { Implicit: false } && !result.GetValue(follow))
            {
                result.AddError("--from goes with --follow: it is where to go on; for what is older, list with --since");
            }

            if (result.GetValue(csv) && result.GetValue(json))
            {
                result.AddError("--csv and --json exclude each other");
            }
        });
        verb.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            (daemon, ends) =>
            {
                var wanted = filter.Read(parsed);
                wanted.Kinds.AddRange(parsed.GetValue(kind) ?? []);
                wanted.Incident = parsed.GetValue(incident);
                var printer = new HistoryPrinter(Console.Out, parsed.GetValue(csv) ? HistoryShape.Csv : parsed.GetValue(json) ? HistoryShape.Json : HistoryShape.Lines);
                return parsed.GetValue(follow)
                    ? FollowAsync(daemon, wanted, parsed.GetResult(from) is { Implicit: false } ? parsed.GetValue(from) : null, printer, ends)
                    : ListAsync(daemon, wanted, parsed.GetValue(limit), printer, ends);
            },
            cancellation));
        return verb;
    }

    private static IReadOnlyDictionary<string, RecordKind> Kinds { get; } =
        Enum.GetValues<RecordKind>().Where(kind => kind != RecordKind.Unspecified).ToDictionary(HistoryJsonRecord.Word);

    private static RecordKind[] ReadKinds(System.CommandLine.Parsing.ArgumentResult result)
    {
        var kinds = new List<RecordKind>();
        foreach (var token in result.Tokens)
        {
            if (Kinds.TryGetValue(token.Value, out var kind))
            {
                kinds.Add(kind);
            }
            else
            {
                result.AddError($"--kind: there is no kind '{token.Value}'; there are {string.Join(", ", Kinds.Keys)}");
            }
        }

        return [.. kinds];
    }

    /// <summary>Page by page, so that a long export needs no more memory than a short one.</summary>
    private static async Task<int> ListAsync(DaemonConnection daemon, RecordFilter filter, int limit, HistoryPrinter printer, CancellationToken cancellation)
    {
        printer.Begin();
        var token = "";
        var left = limit;
        do
        {
            var request = new ListRecordsRequest { Filter = filter, PageSize = Math.Min(left, Page), PageToken = token };
            // A page's size may change from one to the next.
            var page = await daemon.Records.ListRecordsAsync(request, deadline: DateTime.UtcNow + Patience, cancellationToken: cancellation);
            foreach (var record in page.Records)
            {
                printer.Print(record);
            }

            left -= page.Records.Count;
            token = page.NextPageToken;
        }
        while (token.Length > 0 && left > 0);
        printer.End(limit - left, token.Length > 0);
        return ExitCode.Done;
    }

    private static async Task<int> FollowAsync(DaemonConnection daemon, RecordFilter filter, long? from, HistoryPrinter printer, CancellationToken cancellation)
    {
        printer.Begin();
        var request = new FollowRecordsRequest { Filter = filter };
        if (from is { } after)
        {
            request.AfterSequence = after;
        }

        long? through = null;
        try
        {
            using var call = daemon.Records.FollowRecords(request, cancellationToken: cancellation);
            while (await call.ResponseStream.MoveNext(cancellation))
            {
                through = printer.Follow(call.ResponseStream.Current) ?? through;
            }
        }
        catch (RpcException) when (through is not null && !cancellation.IsCancellationRequested)
        {
            Terminal.Error($"the connection was lost; go on with --follow --from {through}");
            return ExitCode.Failed;
        }

        return cancellation.IsCancellationRequested ? ExitCode.Interrupted : ExitCode.Failed;
    }
}

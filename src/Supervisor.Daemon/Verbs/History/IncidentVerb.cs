using System.CommandLine;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Verbs.History;

/// <summary><c>incident</c>: faults that belong together; <c>incident N [--report FILE]</c>: one of them whole.</summary>
internal static class IncidentVerb
{
    private const int MostListed = 1_000_000;
    private const int Page = 1_000;
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(30);

    public static Command Build()
    {
        var verb = new Command("incident", "List incidents, newest first: what came first, how many faults, how long until the axes were back. With a number: one whole, and what to do.");
        var number = new Argument<long?>("N") { Description = "Number of an incident; without it they are listed.", Arity = ArgumentArity.ZeroOrOne };
        verb.Arguments.Add(number);
        var filter = new FilterOptions(verb);
        var limit = Numbers.Integer("--limit", "N", "Most incidents to list.", 1, MostListed, 20);
        var report = new Option<string?>("--report") { Description = "Write the incident into one HTML file, to be read or printed anywhere, without a network.", HelpName = "FILE" };
        var json = ClientOptions.Json();
        var server = ClientOptions.Server();
        foreach (var option in (Option[])[limit, report, json, server])
        {
            verb.Options.Add(option);
        }

        verb.Check(result =>
        {
            var isOne = result.GetValue(number) is not null;
            if (!isOne && result.GetValue(report) is not null)
            {
                result.AddError("--report needs the number of an incident; `incident` lists them");
            }

            if (isOne && (filter.IsGiven(result) || result.GetResult(limit) is { Implicit: false }))
            {
                result.AddError("one incident is shown whole: what chooses among them goes without a number");
            }
        });
        verb.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            (daemon, ends) => parsed.GetValue(number) is { } one
                ? ShowAsync(daemon, one, parsed.GetValue(report), parsed.GetValue(json), ends)
                : ListAsync(daemon, filter.Read(parsed), parsed.GetValue(limit), parsed.GetValue(json), ends),
            cancellation));
        return verb;
    }

    private static async Task<int> ListAsync(DaemonConnection daemon, RecordFilter filter, int limit, bool json, CancellationToken cancellation)
    {
        var incidents = new List<Incident>();
        var token = "";
        do
        {
            var request = new ListIncidentsRequest { Filter = filter, PageSize = Math.Min(limit - incidents.Count, Page), PageToken = token };
            var page = await daemon.Records.ListIncidentsAsync(request, deadline: DateTime.UtcNow + Patience, cancellationToken: cancellation);
            incidents.AddRange(page.Incidents);
            token = page.NextPageToken;
        }
        while (token.Length > 0 && incidents.Count < limit);
        if (json)
        {
            JsonOut.Print(new IncidentsJson([.. incidents.Select(IncidentJson.From)]), JsonShapes.Readable.IncidentsJson);
            return ExitCode.Done;
        }

        foreach (var incident in incidents)
        {
            Console.Out.WriteLine(HistoryText.Line(incident));
        }

        Console.Out.WriteLine(incidents.Count == 0 ? "no incidents that fit" : $"`incident {incidents[0].Number}` tells one whole, and what to do.");
        return ExitCode.Done;
    }

    private static async Task<int> ShowAsync(DaemonConnection daemon, long number, string? report, bool json, CancellationToken cancellation)
    {
        var story = await daemon.Records.GetIncidentAsync(new GetIncidentRequest { Number = number }, deadline: DateTime.UtcNow + Patience, cancellationToken: cancellation);
        if (report is not null)
        {
            var status = await daemon.Status.GetStatusAsync(new GetStatusRequest(), deadline: DateTime.UtcNow + Patience, cancellationToken: cancellation);
            var figures = await RecordedFigures.ReadAsync(daemon, number, cancellation);
            try
            {
                IncidentReport.Write(report, story, status.Status.Machine, DateTimeOffset.Now, figures);
            }
            catch (Exception exception) when (exception is IOException or UnauthorizedAccessException)
            {
                Terminal.Error($"{report} can't be written: {exception.Message}");
                return ExitCode.Failed;
            }
        }

        if (json)
        {
            JsonOut.Print(IncidentStoryJson.From(story), JsonShapes.Readable.IncidentStoryJson);
        }
        else if (report is not null)
        {
            Console.Out.WriteLine($"incident {number} is in {report}");
        }
        else
        {
            IncidentText.Print(story, Console.Out);
        }

        return ExitCode.Done;
    }
}

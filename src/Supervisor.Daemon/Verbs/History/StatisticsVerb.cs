using System.CommandLine;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Verbs.History;

/// <summary><c>statistics [--since TIME] [--until TIME] [--axis A] [--json]</c>: what the records of a period come to.</summary>
internal static class StatisticsVerb
{
    // A question over years reads the whole file, on a small board.
    private static readonly TimeSpan Patience = TimeSpan.FromMinutes(5);

    public static Command Build()
    {
        var since = TimeOption.Build("--since", "From then on; without it the seven days before the end");
        var until = TimeOption.Build("--until", "Before then; without it until now");
        var axis = new Option<string?>("--axis") { Description = "Only of this axis.", HelpName = "AXIS" };
        var json = ClientOptions.Json();
        var server = ClientOptions.Server();
        var verb = new Command("statistics", "Time between failures and to repair, availability, what fails most, how often it alarms and how stops change, over any period.") { since, until, axis, json, server };
        verb.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            async (daemon, ends) =>
            {
                var request = new GetStatisticsRequest { Since = parsed.GetValue(since), Until = parsed.GetValue(until), Axis = parsed.GetValue(axis) ?? "" };
                var told = await daemon.Statistics.GetStatisticsAsync(request, deadline: DateTime.UtcNow + Patience, cancellationToken: ends);
                if (parsed.GetValue(json))
                {
                    JsonOut.Print(StatisticsJson.From(told), JsonShapes.Readable.StatisticsJson);
                }
                else
                {
                    StatisticsText.Print(told, request.Axis, Console.Out);
                }

                return ExitCode.Done;
            },
            cancellation));
        return verb;
    }
}

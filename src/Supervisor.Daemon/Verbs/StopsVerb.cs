using System.CommandLine;
using System.Globalization;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Verbs;

/// <summary><c>stops [--axis A] [--limit N] [--json]</c>: stops as measured.</summary>
internal static class StopsVerb
{
    private const int MostListed = 1_000_000;
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(10);

    public static Command Build()
    {
        var limit = Numbers.Integer("--limit", "N", "Most stops to list.", 1, MostListed, 50);
        var axis = new Option<string?>("--axis") { Description = "Only stops of this axis.", HelpName = "AXIS" };
        var json = ClientOptions.Json();
        var server = ClientOptions.Server();
        var verb = new Command("stops", "List stops as measured, newest first: time and way from the moment the daemon saw the trip.") { limit, axis, json, server };
        verb.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            async (daemon, ends) =>
            {
                var stops = await ListAsync(daemon, parsed.GetValue(axis) ?? "", parsed.GetValue(limit), ends);
                if (parsed.GetValue(json))
                {
                    JsonOut.Print(new StopsJson([.. stops.Select(ToJson)]), JsonShapes.Readable.StopsJson);
                }
                else
                {
                    Print(stops);
                }

                return ExitCode.Done;
            },
            cancellation));
        return verb;
    }

    private static async Task<IReadOnlyList<StopRecord>> ListAsync(DaemonConnection daemon, string axis, int limit, CancellationToken cancellation)
    {
        var stops = new List<StopRecord>();
        var token = "";
        do
        {
            var page = await daemon.History.ListStopsAsync(
                new ListStopsRequest { Axis = axis, PageSize = limit - stops.Count, PageToken = token }, deadline: DateTime.UtcNow + Patience, cancellationToken: cancellation);
            stops.AddRange(page.Stops);
            token = page.NextPageToken;
        }
        while (token.Length > 0 && stops.Count < limit);
        return stops;
    }

    private static void Print(IReadOnlyList<StopRecord> stops)
    {
        if (stops.Count == 0)
        {
            Console.Out.WriteLine("no stops recorded");
            return;
        }

        foreach (var stop in stops)
        {
            var rest = stop.HasRestMs ? $"at rest after {stop.RestMs:0} ms" : "rest not seen";
            var off = stop.HasOffMs ? $", torque off after {stop.OffMs:0} ms" : stop.Category == 2 ? "" : ", torque off not seen";
            Console.Out.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"{Text.Time(stop.Time, stop.TimeTrusted)}  {stop.Axis}: category {stop.Category} ({stop.Cause}) from {stop.Velocity:0.#} {stop.Unit}/s: {rest}, {stop.Distance:0.##} {stop.Unit}{off}"));
        }

        Console.Out.WriteLine("From the moment the daemon saw the trip: the contact, its wiring and its line are not in it. A validated measurement of the whole chain decides on safety distances.");
    }

    private static StopJson ToJson(StopRecord stop) => new(
        stop.Sequence, stop.Time.ToDateTime().ToString("O", CultureInfo.InvariantCulture), stop.TimeTrusted, stop.Axis, stop.Cause, stop.Category, stop.Unit,
        stop.Velocity, stop.Distance, stop.HasRestMs ? stop.RestMs : null, stop.HasOffMs ? stop.OffMs : null);
}

using System.CommandLine;
using System.Globalization;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Verbs.Signals;

/// <summary><c>counters</c> and <c>counters reset NAME</c>.</summary>
internal static class CounterVerbs
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(10);

    public static Command Build()
    {
        var json = ClientOptions.Json();
        var server = ClientOptions.Server();
        var verb = new Command("counters", "List the machine file's counters, which are kept over a restart.") { json, server, Reset() };
        verb.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            async (daemon, ends) =>
            {
                var counters = await ListAsync(daemon, ends);
                if (parsed.GetValue(json))
                {
                    JsonOut.Print(
                        new CountersJson([.. counters.Select(each => new CounterJson(each.Name, each.Count, each.Alarm > 0 ? each.Alarm : null, each.Alarm > 0 ? each.AlarmAt : null))]),
                        JsonShapes.Readable.CountersJson);
                }
                else
                {
                    Print(counters);
                }

                return ExitCode.Done;
            },
            cancellation));
        return verb;
    }

    private static Command Reset()
    {
        var name = new Argument<string>("NAME") { Description = "Name of the counter." };
        var json = ClientOptions.Json();
        var server = ClientOptions.Server();
        var verb = new Command("reset", "Set a counter back to 0, and so clear the alarm that it raised. Needs no authority; who did it is recorded.") { name, json, server };
        verb.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            async (daemon, ends) =>
            {
                var answer = await daemon.Signals.ResetCounterAsync(
                    new ResetCounterRequest { Name = parsed.GetRequiredValue(name), RequestedBy = SignalVerbs.By("counters reset") },
                    deadline: DateTime.UtcNow + Patience, cancellationToken: ends);
                return SignalVerbs.Print(answer.Message, parsed.GetValue(json));
            },
            cancellation));
        return verb;
    }

    private static async Task<List<Counter>> ListAsync(DaemonConnection daemon, CancellationToken cancellation)
    {
        var counters = new List<Counter>();
        var token = "";
        do
        {
            var page = await daemon.Signals.ListCountersAsync(
                new ListCountersRequest { PageToken = token }, deadline: DateTime.UtcNow + Patience, cancellationToken: cancellation);
            counters.AddRange(page.Counters);
            token = page.NextPageToken;
        }
        while (token.Length > 0);
        return counters;
    }

    private static void Print(List<Counter> counters)
    {
        if (counters.Count == 0)
        {
            Console.Out.WriteLine("the machine file has no counters");
            return;
        }

        var width = counters.Max(counter => counter.Name.Length);
        foreach (var counter in counters)
        {
            var alarm = counter.Alarm == 0 ? "" : $"  alarm {counter.Alarm} from {counter.AlarmAt}{(counter.Count >= counter.AlarmAt ? ": it stands" : "")}";
            Console.Out.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{counter.Name.PadRight(width)}  {counter.Count,9}{alarm}"));
        }
    }
}

using System.CommandLine;
using Google.Protobuf.WellKnownTypes;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;
using Supervisor.Daemon.Verbs.History;

namespace Supervisor.Daemon.Verbs.Alarms;

/// <summary><c>alarms</c>, <c>alarms out-of-service</c>, <c>alarms in-service</c> and <c>acknowledge</c>. Nothing of it needs authority, resets or permits anything.</summary>
internal static class AlarmsVerb
{
    private const int PageSize = 1_000;

    public static Command Build()
    {
        var axis = new Option<string?>("--axis") { Description = "Only of this axis.", HelpName = "AXIS" };
        var waiting = new Option<bool>("--unacknowledged") { Description = "Only those that nobody has acknowledged." };
        var (language, server, json) = (ClientOptions.Language(), ClientOptions.Server(), ClientOptions.Json());
        var verb = new Command("alarms", "List alarms that are not over: what stands, who knows, what waits for a reset, what is out of service; the gravest first.")
        {
            axis, waiting, language, server, json, OutOfService(), InService(),
        };
        verb.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            (daemon, ends) => ListAsync(
                daemon,
                new ListAlarmsRequest { PageSize = PageSize, Axis = parsed.GetValue(axis) ?? "", Unacknowledged = parsed.GetValue(waiting), Language = parsed.GetValue(language) ?? "" },
                parsed.GetValue(json), ends),
            cancellation));
        return verb;
    }

    public static Command Acknowledge()
    {
        var names = new Argument<string[]>("ALARM") { Description = "Each as NUMBER, as NAME of an axis or whatever it is about, or as NUMBER:NAME.", Arity = ArgumentArity.ZeroOrMore };
        var all = new Option<bool>("--all") { Description = "Every alarm." };
        var (by, server, json) = (By(), ClientOptions.Server(), ClientOptions.Json());
        var verb = new Command("acknowledge", "Say that you know of alarms. Resets nothing: a fault waits for its reset all the same.") { names, all, by, server, json };
        verb.Check(result =>
        {
            if (result.GetValue(all) == result.GetValue(names)?.Length > 0)
            {
                result.AddError("name the alarms, or give --all for every one; `alarms` lists them");
            }
        });
        verb.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            async (daemon, ends) =>
            {
                var request = new AcknowledgeAlarmsRequest { All = parsed.GetValue(all), RequestedBy = parsed.GetValue(by) };
                request.Alarms.AddRange((parsed.GetValue(names) ?? []).Select(AlarmName.Choice));
                var answer = await daemon.Alarms.AcknowledgeAlarmsAsync(request, cancellationToken: ends);
                return Done(answer.Message, answer.Kept, parsed.GetValue(json));
            },
            cancellation));
        return verb;
    }

    private static Command OutOfService()
    {
        var names = Keys();
        var time = new Option<TimeSpan>("--for")
        {
            Description = "How long, such as 30m or 2h; then they come back by themselves.", HelpName = "TIME", Required = true,
            CustomParser = result =>
            {
                if (TimeOption.TryDuration(result.Tokens[0].Value, out var duration))
                {
                    return duration;
                }

                result.AddError($"--for must be a time such as 30m or 2h, not '{result.Tokens[0].Value}'");
                return TimeSpan.Zero;
            },
        };
        var reason = new Option<string>("--reason") { Description = "Why, for whoever finds them so.", HelpName = "TEXT", Required = true };
        var (by, server, json) = (By(), ClientOptions.Server(), ClientOptions.Json());
        var verb = new Command("out-of-service", "Take alarms out of service for a limited time: they call nobody, but are recorded, and stop what they stop.")
        {
            names, time, reason, by, server, json,
        };
        verb.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            async (daemon, ends) =>
            {
                var request = new TakeAlarmsOutOfServiceRequest
                {
                    For = Duration.FromTimeSpan(parsed.GetValue(time)), Reason = parsed.GetValue(reason), RequestedBy = parsed.GetValue(by),
                };
                request.Alarms.AddRange((parsed.GetValue(names) ?? []).Select(AlarmName.Key));
                var answer = await daemon.Alarms.TakeAlarmsOutOfServiceAsync(request, cancellationToken: ends);
                return Done(answer.Message, answer.Kept, parsed.GetValue(json));
            },
            cancellation));
        return verb;
    }

    private static Command InService()
    {
        var names = Keys();
        var (by, server, json) = (By(), ClientOptions.Server(), ClientOptions.Json());
        var verb = new Command("in-service", "Put alarms back into service before their time is over.") { names, by, server, json };
        verb.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            async (daemon, ends) =>
            {
                var request = new PutAlarmsBackInServiceRequest { RequestedBy = parsed.GetValue(by) };
                request.Alarms.AddRange((parsed.GetValue(names) ?? []).Select(AlarmName.Key));
                var answer = await daemon.Alarms.PutAlarmsBackInServiceAsync(request, cancellationToken: ends);
                return Done(answer.Message, answer.Kept, parsed.GetValue(json));
            },
            cancellation));
        return verb;
    }

    private static Argument<string[]> Keys()
    {
        var names = new Argument<string[]>("ALARM") { Description = "Each as NUMBER:NAME, such as 101:dibber; as NUMBER alone where it is about the machine.", Arity = ArgumentArity.OneOrMore };
        names.Validators.Add(result =>
        {
            foreach (var token in result.Tokens)
            {
                if (AlarmName.Key(token.Value).Number == 0)
                {
                    result.AddError($"'{token.Value}' is no alarm: give NUMBER:NAME, such as 101:dibber; `alarms` lists them");
                }
            }
        });
        return names;
    }

    private static Option<string> By() => new("--by")
    {
        Description = "Your name, shown to others and recorded; otherwise this account's.", HelpName = "NAME", DefaultValueFactory = _ => Environment.UserName,
    };

    private static int Done(string message, bool kept, bool json)
    {
        if (json)
        {
            JsonOut.Print(new AlarmAnswerJson(message, kept), JsonShapes.Readable.AlarmAnswerJson);
        }
        else
        {
            Console.Out.WriteLine(message);
        }

        if (!kept)
        {
            Terminal.Error("the disk did not take it: it holds now, but may be forgotten when the daemon ends");
        }

        return ExitCode.Done;
    }

    private static async Task<int> ListAsync(DaemonConnection daemon, ListAlarmsRequest request, bool json, CancellationToken cancellation)
    {
        var alarms = new List<Alarm>();
        ListAlarmsResponse page;
        do
        {
            page = await daemon.Alarms.ListAlarmsAsync(request, cancellationToken: cancellation);
            alarms.AddRange(page.Alarms);
            request.PageToken = page.NextPageToken;
        }
        while (page.NextPageToken.Length > 0);

        alarms.Sort(AlarmLines.Gravest);
        if (json)
        {
            JsonOut.Print(new AlarmListJson([.. alarms.Select(AlarmJson.From)], page.NotKept), JsonShapes.Readable.AlarmListJson);
        }
        else
        {
            AlarmLines.Print(alarms, page.NotKept, Console.Out);
        }

        return ExitCode.Done;
    }
}

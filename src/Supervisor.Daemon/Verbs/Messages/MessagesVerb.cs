using System.CommandLine;
using System.Globalization;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;
using Supervisor.Daemon.Verbs.History;

namespace Supervisor.Daemon.Verbs.Messages;

/// <summary><c>messages [--waiting] [--channel C] [--limit N] [--json]</c> and <c>messages test [CHANNEL]</c>.</summary>
internal static class MessagesVerb
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(10);

    // An attempt takes a minute at most.
    private static readonly TimeSpan TrialPatience = TimeSpan.FromSeconds(75);

    public static Command Build()
    {
        var waiting = new Option<bool>("--waiting") { Description = "Only what waits to be sent." };
        var channel = new Option<string?>("--channel") { Description = "Only of this channel.", HelpName = "CHANNEL" };
        var limit = new Option<int>("--limit") { Description = "Most messages.", HelpName = "N", DefaultValueFactory = _ => 20 };
        var json = ClientOptions.Json();
        var server = ClientOptions.Server();
        var verb = new Command("messages", "List messages to people who are not there, newest first: what waits, what was sent.") { waiting, channel, limit, json, server, Test() };
        verb.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            async (daemon, ends) =>
            {
                var request = new ListMessagesRequest { Channel = parsed.GetValue(channel) ?? "", WaitingOnly = parsed.GetValue(waiting) };
                var messages = await ListAsync(daemon, request, Math.Max(1, parsed.GetValue(limit)), ends);
                var status = (await daemon.Status.GetStatusAsync(new GetStatusRequest(), deadline: DateTime.UtcNow + Patience, cancellationToken: ends)).Status;
                if (parsed.GetValue(json))
                {
                    JsonOut.Print(
                        new MessagesJson([.. status.MessageChannels.Select(MessageChannelJson.From)], [.. messages.Select(ToldMessageJson.From)]), JsonShapes.Readable.MessagesJson);
                }
                else
                {
                    Print(status.MessageChannels, messages, Console.Out);
                }

                return ExitCode.Done;
            },
            cancellation));
        return verb;
    }

    private static Command Test()
    {
        var channel = new Argument<string?>("CHANNEL") { Description = "The channel; without it every channel.", Arity = ArgumentArity.ZeroOrOne };
        var server = ClientOptions.Server();
        var verb = new Command("test", "Send a trial message now and tell what the server said.") { channel, server };
        verb.SetAction((parsed, cancellation) => Terminal.WithDaemonAsync(
            parsed.GetValue(server),
            async (daemon, ends) =>
            {
                var status = (await daemon.Status.GetStatusAsync(new GetStatusRequest(), deadline: DateTime.UtcNow + Patience, cancellationToken: ends)).Status;
                string[] names = parsed.GetValue(channel) is { } named ? [named] : [.. status.MessageChannels.Select(each => each.Name)];
                if (names.Length == 0)
                {
                    Terminal.Error("the machine file has no channels (messages)");
                    return ExitCode.Failed;
                }

                var code = ExitCode.Done;
                foreach (var name in names)
                {
                    var answer = await daemon.Messages.SendTrialAsync(new SendTrialRequest { Channel = name }, deadline: DateTime.UtcNow + TrialPatience, cancellationToken: ends);
                    Console.Out.WriteLine($"{name}: {(answer.Taken ? "taken" : "not taken")}: {answer.Answer}");
                    code = answer.Taken ? code : ExitCode.Failed;
                }

                return code;
            },
            cancellation));
        return verb;
    }

    private static async Task<IReadOnlyList<Message>> ListAsync(DaemonConnection daemon, ListMessagesRequest request, int limit, CancellationToken cancellation)
    {
        var messages = new List<Message>();
        do
        {
            request.PageSize = limit - messages.Count;
            var page = await daemon.Messages.ListMessagesAsync(request, deadline: DateTime.UtcNow + Patience, cancellationToken: cancellation);
            messages.AddRange(page.Messages);
            request.PageToken = page.NextPageToken;
        }
        while (request.PageToken.Length > 0 && messages.Count < limit);
        return messages;
    }

    private static void Print(IEnumerable<MessageChannelStatus> channels, IReadOnlyList<Message> messages, TextWriter to)
    {
        foreach (var channel in channels)
        {
            to.WriteLine(Line(channel));
        }

        foreach (var message in messages)
        {
            to.WriteLine(Line(message));
        }

        if (messages.Count == 0)
        {
            to.WriteLine("no messages");
        }
    }

    /// <summary>How a channel fares, in one line.</summary>
    public static string Line(MessageChannelStatus channel)
    {
        var told = new List<string>();
        if (channel.Waiting > 0)
        {
            told.Add($"{Records.Counted.Of(channel.Waiting, "message")} {(channel.Waiting == 1 ? "waits" : "wait")}{(channel.HasOldestForS ? $", the oldest for {HistoryText.Duration(channel.OldestForS)}" : "")}");
        }

        if (channel.HasFailingForS)
        {
            told.Add($"does not get through for {HistoryText.Duration(channel.FailingForS)}: {channel.Problem}");
        }
        else if (channel.Held)
        {
            told.Add("the hour's messages are used up");
        }

        if (channel.GivenUp > 0)
        {
            told.Add($"{Records.Counted.Of(channel.GivenUp, "message")} refused for good");
        }

        return $"messages by {channel.Name} ({channel.Kind}): {(told.Count == 0 ? "nothing waits" : string.Join("; ", told))}";
    }

    private static string Line(Message message)
    {
        var what = message.Title.Length > 0 ? message.Title : message.Kind == MessageKind.End ? $"end of incident {message.Incident}" : $"incident {message.Incident}";
        var made = message.Made is null ? "(clock not set)      " : Text.Time(message.Made, isTrusted: true);
        return $"{made}  {message.Number.ToString(CultureInfo.InvariantCulture)}  {message.Channel}: {what}: {State(message)}";
    }

    private static string State(Message message) => message.State switch
    {
        MessageState.Waiting => "waits",
        MessageState.Sent => $"sent{(message.Done is null ? "" : $" {Text.Time(message.Done, isTrusted: true)}")}",
        MessageState.Refused => $"refused: {message.Answer}",
        MessageState.ToldWithin => $"told within {message.ToldWithin}",
        MessageState.Withdrawn => $"not sent: {message.Answer}",
        _ => "",
    };
}

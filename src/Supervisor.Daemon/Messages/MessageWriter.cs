using System.Globalization;
using Supervisor.Api.V1;
using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Machines.Messages;
using Supervisor.Daemon.Services;
using Supervisor.Daemon.Verbs.History;
using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Outbox;
using Supervisor.History.Reading;

namespace Supervisor.Daemon.Messages;

/// <summary>Puts messages into the words of a channel: text for mail, JSON for a request.</summary>
/// <param name="definition">The machine.</param>
/// <param name="channel">The channel.</param>
/// <param name="reader">Reads incidents.</param>
/// <param name="mapping">Turns them into what all faces show.</param>
internal sealed class MessageWriter(MachineDefinition definition, MessageChannel channel, HistoryReader reader, IncidentMapping mapping) : IMessageWriter
{
    private const int MostRecords = 50;
    private const int MostTold = 200;

    private readonly string machine = definition.Name;

    /// <inheritdoc/>
    public OutboxContent Write(OutboxMessage message, in ClockReading now)
    {
        var number = message.Incident!.Value;
        if (reader.Incident(number) is not { } found)
        {
            var lost = $"{machine}: incident {number}";
            return Content(Plain(message, "incident", lost, MessageText.OfLost(machine, number), now), now);
        }

        var story = mapping.ToMessage(found);
        var own = OwnAdvice(found).ToArray();
        var isEnd = message.Kind == OutboxKind.End;
        var title = isEnd ? MessageText.EndTitle(machine, story.Incident) : MessageText.Title(machine, story.Incident);
        var text = isEnd ? MessageText.OfEnd(machine, story) : MessageText.Of(machine, story, message.Priority, own.SelectMany(Lines));
        return Content(
            Plain(message, isEnd ? "end" : "incident", title, text, now) with
            {
                Incident = IncidentJson.From(story.Incident),
                Advice = [.. own, .. story.Advice.Select(each => new AdviceJson(each.Fault, each.Name, each.Meaning, each.Causes, each.Remedy, each.Axes))],
                Consequences = [.. MessageText.Consequences(story).Take(MostRecords).Select(HistoryJsonRecord.From)],
                Reactions = [.. MessageText.Reactions(story).Take(MostRecords).Select(HistoryJsonRecord.From)],
                Count = 1,
                Command = $"axis-supervisor incident {number}",
            },
            now);
    }

    /// <inheritdoc/>
    public OutboxContent Write(OutboxMessage summary, IReadOnlyList<OutboxMessage> told, in ClockReading now)
    {
        ToldIncidentJson[] incidents = [.. told.Select(Told)];
        var title = MessageText.SummaryTitle(machine, incidents.Length);
        return Content(
            Plain(summary, "summary", title, MessageText.OfSummary(machine, incidents, channel.PerHour), now) with { Incidents = [.. incidents.Take(MostTold)], Count = incidents.Length, Command = "axis-supervisor incident" },
            now);
    }

    /// <summary>A trial, which is sent and not kept.</summary>
    public OutboxMessage Trial(string identity, in ClockReading now)
    {
        var message = new OutboxMessage(0, channel.Name, OutboxKind.None, identity) { Priority = 1 };
        return message with { Content = Content(Plain(message, "trial", $"{machine}: a trial", MessageText.OfTrial(machine, channel.Name), now), now) };
    }

    /// <summary>What the builder says of the alarms of the machine file, in the channel's language.</summary>
    private IEnumerable<AdviceJson> OwnAdvice(IncidentStory story)
    {
        var numbers = story.Records.Prepend(story.Summary.Lead).Select(stored => stored.Record).OfType<AlarmRecord>().Where(alarm => alarm.IsCall).Select(alarm => alarm.Number).Distinct();
        foreach (var number in numbers)
        {
            if (definition.Alarms.FirstOrDefault(alarm => alarm.Number == number) is { } own)
            {
                var texts = own.Texts[definition.Languages.Find(channel.Language)];
                yield return new AdviceJson(number.ToString(CultureInfo.InvariantCulture), texts.Name, texts.Cause, [], texts.Remedy, []);
            }
        }
    }

    private static IEnumerable<string> Lines(AdviceJson own) => [$"{own.Name}: {own.Meaning}", $"    {own.Remedy}"];

    private ToldIncidentJson Told(OutboxMessage message)
    {
        var over = message.Kind == OutboxKind.End ? "over: " : "";
        if (message.Incident is not { } number || reader.Incident(number) is not { } found)
        {
            return new ToldIncidentJson(message.Incident ?? 0, $"{over}incident {message.Incident}, of which nothing is kept any more", "", MessageText.Word(message.Priority), message.Cause);
        }

        var incident = mapping.ToMessage(found.Summary);
        return new ToldIncidentJson(number, over + MessageText.Brief(incident), MessageText.When(incident.Lead), MessageText.Word(message.Priority), over + message.Cause);
    }

    private WebhookJson Plain(OutboxMessage message, string kind, string title, string text, in ClockReading now) => new(
        message.Identity, kind, machine, MessageText.Word(message.Priority), title, text, Written(now)?.UtcDateTime.ToString("O", CultureInfo.InvariantCulture));

    private OutboxContent Content(WebhookJson message, in ClockReading now) =>
        new(message.Title, channel.Email is not null ? message.Text : message.Write(), Written(now));

    private static DateTimeOffset? Written(in ClockReading now) => now.Utc >= StoredRecord.EarliestPossible ? now.Utc : null;
}

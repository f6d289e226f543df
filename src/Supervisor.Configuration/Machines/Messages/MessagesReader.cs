using Supervisor.Configuration.Reading;
using Supervisor.Records.Faults;

namespace Supervisor.Configuration.Machines.Messages;

/// <summary>Reads to whom incidents are told.</summary>
internal sealed class MessagesReader(LoadedFile file)
{
    /// <summary>Most channels.</summary>
    public const int MostChannels = 8;

    private const double ShortestSettleS = 1;
    private const double LongestSettleS = 600;
    private const double UsualSettleS = 10;
    private const int UsualPerHour = 12;

    private static readonly Choices<FaultPriority> Priorities = new(("low", FaultPriority.Low), ("medium", FaultPriority.Medium), ("high", FaultPriority.High));

    private readonly UsedOnce<string> _names = new(file.Errors);

    /// <summary>The channels, in the file's order.</summary>
    public IReadOnlyList<MessageChannel> Read(ObjectReader machine)
    {
        var channels = new List<MessageChannel>();
        foreach (var node in machine.Items("messages"))
        {
            if (ObjectReader.Open(node, MessageShapes.Channel, file.Errors) is { } reader && ReadChannel(reader) is { } channel)
            {
                channels.Add(channel);
            }
        }

        if (machine.Find("messages") is { Kind: NodeKind.Array, Items.Count: > MostChannels and var count })
        {
            machine.Refuse("messages", $"has {count} channels; at most {MostChannels} are allowed");
        }

        return channels;
    }

    private MessageChannel? ReadChannel(ObjectReader reader)
    {
        var node = reader.Require("name", "name of the channel");
        var name = Names.Read(node, "", file.Errors);
        if (name is not null)
        {
            _names.Note(name, node!, line => $"{Show.Quoted(name)} is the name of a channel in line {line} already");
        }

        if (reader.Find("email") is null && reader.Find("webhook") is null)
        {
            reader.Refuse("email", "is missing: \"email\" or \"webhook\" says which way it goes");
        }
        else if (reader.Find("email") is not null && reader.Find("webhook") is not null)
        {
            reader.Refuse("webhook", "stands beside \"email\"; a channel has one of them: make two channels");
        }

        var email = new EmailReader(file).Read(reader);
        var webhook = new WebhookReader(file).Read(reader);
        var least = reader.Choice("leastPriority", Priorities, FaultPriority.Low);
        var perHour = reader.Integer("perHour", new NumberRange(1, 120, ""), UsualPerHour);
        var settle = reader.Number("settleSeconds", new NumberRange(ShortestSettleS, LongestSettleS, "s"), UsualSettleS);
        return new MessageChannel(
            name ?? "", least ?? FaultPriority.Low, perHour ?? UsualPerHour, Milliseconds.ToTime(settle * 1000), reader.Flag("tellEnd", false), reader.Text("language") ?? "en")
        {
            Email = email,
            Webhook = webhook,
        };
    }
}

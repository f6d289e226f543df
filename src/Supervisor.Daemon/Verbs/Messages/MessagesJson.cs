using System.Globalization;
using Google.Protobuf.WellKnownTypes;
using Supervisor.Api.V1;
using Supervisor.Daemon.Verbs.History;

namespace Supervisor.Daemon.Verbs.Messages;

/// <summary>Messages to people, newest first, and the channels they go by.</summary>
public sealed record MessagesJson(IReadOnlyList<MessageChannelJson> Channels, IReadOnlyList<ToldMessageJson> Messages);

/// <summary>One channel. Times in seconds are null where they do not apply.</summary>
public sealed record MessageChannelJson(
    string Name, string Kind, int Waiting, double? OldestForS, double? FailingForS, string Problem, long Sent, long GivenUp, bool Held)
{
    public static MessageChannelJson From(MessageChannelStatus status)
    {
        ArgumentNullException.ThrowIfNull(status);
        return new(
            status.Name, status.Kind, status.Waiting, status.HasOldestForS ? status.OldestForS : null, status.HasFailingForS ? status.FailingForS : null, status.Problem, status.Sent,
            status.GivenUp, status.Held);
    }
}

/// <summary>One message. <c>Kind</c> is incident, end or summary; <c>State</c> waiting, sent, refused, toldWithin or withdrawn.</summary>
public sealed record ToldMessageJson(
    long Number, string Channel, string Kind, string State, long? Incident, string Identity, string Priority, string? Title, string? Made, string? Done, long? ToldWithin, string? Answer)
{
    public static ToldMessageJson From(Message message)
    {
        ArgumentNullException.ThrowIfNull(message);
        return new(
            message.Number, message.Channel, HistoryJsonRecord.Word(message.Kind), HistoryJsonRecord.Word(message.State), message.Incident != 0 ? message.Incident : null, message.Identity,
            message.Priority, message.Title.Length > 0 ? message.Title : null, TimeOf(message.Made), TimeOf(message.Done), message.ToldWithin != 0 ? message.ToldWithin : null,
            message.Answer.Length > 0 ? message.Answer : null);
    }

    private static string? TimeOf(Timestamp? time) => time?.ToDateTime().ToString("O", CultureInfo.InvariantCulture);
}

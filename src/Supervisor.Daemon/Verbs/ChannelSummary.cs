using Supervisor.Configuration.Machines.Messages;
using Supervisor.Daemon.Messages;

namespace Supervisor.Daemon.Verbs;

/// <summary>What a channel of messages will tell whom. Of an address only the server is shown: the rest may be a secret.</summary>
internal static class ChannelSummary
{
    public static string Line(MessageChannel channel)
    {
        var secrets = Secrets(channel).ToArray();
        return $"messages {channel.Name}: {ChannelSteps.KindOf(channel)} to {To(channel)}; incidents of priority {Word(channel)} and above, {Text.Of(channel.Settle.TotalSeconds)} s after their last fault"
            + $"{(channel.TellsEnd ? ", and their end" : "")}; at most {channel.PerHour} an hour, what is above together as one"
            + (secrets.Length > 0 ? $"; takes the secret{(secrets.Length > 1 ? "s" : "")} {string.Join(", ", secrets)}" : "");
    }

    public static CheckedChannelJson ToJson(MessageChannel channel) => new(
        channel.Name, ChannelSteps.KindOf(channel), To(channel), Word(channel), channel.PerHour, channel.Settle.TotalSeconds, channel.TellsEnd, channel.Language);

    private static string To(MessageChannel channel) => channel switch
    {
        { Email: { } email } => $"{string.Join(", ", email.To)} by {email.Server}:{email.Port}{(email.Security == MailSecurity.None ? " in the clear" : "")}",
        { Webhook.Url: { } url } => url.GetLeftPart(UriPartial.Authority),
        _ => "an address that is a secret",
    };

    private static IEnumerable<string> Secrets(MessageChannel channel)
    {
        SecretPlace?[] places = channel switch
        {
            { Email: { } email } => [email.Password],
            { Webhook: { } webhook } => [webhook.SecretUrl, webhook.SignatureKey, .. webhook.SecretHeaders.Values],
            _ => [],
        };
        return places.OfType<SecretPlace>().Select(place => place.Name);
    }

    private static string Word(MessageChannel channel) => MessageText.Word((int)channel.LeastPriority);
}

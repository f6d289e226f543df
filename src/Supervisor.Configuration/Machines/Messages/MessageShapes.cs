using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines.Messages;

/// <summary>Members of the section <c>messages</c>.</summary>
internal static class MessageShapes
{
    public static readonly ObjectShape Channel = new("messageChannel", "name", "email", "webhook", "leastPriority", "perHour", "settleSeconds", "tellEnd", "language");

    public static readonly ObjectShape Email = new("email", "server", "port", "security", "from", "to", "user", "passwordFile", "certificateAuthority");

    public static readonly ObjectShape Webhook = new(
        "webhook", "url", "urlFile", "headers", "secretHeaders", "signatureKeyFile", "signatureHeader", "certificateAuthority");

    public static readonly IReadOnlyList<ObjectShape> All = [Channel, Email, Webhook];
}

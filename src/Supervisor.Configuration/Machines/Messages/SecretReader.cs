using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines.Messages;

/// <summary>Reads where a secret is. Whether it is there shows when it is needed: a machine must start without it.</summary>
internal static class SecretReader
{
    public static SecretPlace? Read(ObjectReader reader, string member, LoadedFile file) => reader.Text(member) is { } name ? new SecretPlace(name, file.Beside(name)) : null;

    public static SecretPlace? Read(Node node, LoadedFile file) => Values.Text(node, file.Errors) is { } name ? new SecretPlace(name, file.Beside(name)) : null;
}

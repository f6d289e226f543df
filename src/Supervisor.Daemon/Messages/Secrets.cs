using Supervisor.Configuration.Machines.Messages;

namespace Supervisor.Daemon.Messages;

/// <summary>Reads secrets each time they are needed, so that one that is put right works without a restart. None is kept, logged or shown.</summary>
internal static class Secrets
{
    private const int MostBytes = 16_384;

    // For the owner alone; anything else would be for others as well.
    private const UnixFileMode Others = UnixFileMode.GroupRead | UnixFileMode.GroupWrite | UnixFileMode.GroupExecute | UnixFileMode.OtherRead | UnixFileMode.OtherWrite | UnixFileMode.OtherExecute;

    /// <summary>A secret, without the line end behind it.</summary>
    /// <exception cref="SecretException">It is not there or not safe; the message says what to do.</exception>
    public static string Read(SecretPlace place)
    {
        var path = Find(place, out var isCredential);
        try
        {
            if (!isCredential && !OperatingSystem.IsWindows() && (File.GetUnixFileMode(path) & Others) != 0)
            {
                throw new SecretException($"{path} is open to other users: chmod 600 it.");
            }

            if (new FileInfo(path) is { Exists: true, Length: > MostBytes })
            {
                throw new SecretException($"{path} is too large for a secret.");
            }

            var secret = File.ReadAllText(path).TrimEnd('\r', '\n');
            return secret.Length == 0 || secret.AsSpan().ContainsAny('\r', '\n', '\0') ? throw new SecretException($"{path} must hold one line, not empty.") : secret;
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException)
        {
            throw new SecretException(
                File.Exists(path) ? $"{path} can't be read: this user may not." : $"there is no secret {place.Name}: give it to the service (LoadCredential=), or write it into {path} with mode 600.", exception);
        }
    }

    private static string Find(SecretPlace place, out bool isCredential)
    {
        isCredential = false;
        if (Environment.GetEnvironmentVariable("CREDENTIALS_DIRECTORY") is { Length: > 0 } folder && Path.GetFileName(place.Name) == place.Name)
        {
            var credential = Path.Combine(folder, place.Name);
            isCredential = File.Exists(credential);
            return isCredential ? credential : place.Path;
        }

        return place.Path;
    }
}

/// <summary>A secret can't be had.</summary>
internal sealed class SecretException(string message, Exception? inner = null) : Exception(message, inner);

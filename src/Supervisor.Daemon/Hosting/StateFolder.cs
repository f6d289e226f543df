namespace Supervisor.Daemon.Hosting;

/// <summary>Where the daemon keeps its history.</summary>
public static class StateFolder
{
    private const string Program = "axis-supervisor";

    /// <summary>The folder as given, else the service manager's (<c>STATE_DIRECTORY</c>), else the system's if it is writable, else the user's. It is made.</summary>
    /// <exception cref="IOException">It can't be made or written; the message says why and what to do.</exception>
    public static string Prepare(string? given)
    {
        var folder = given is { Length: > 0 } ? Path.GetFullPath(given) : Default();
        try
        {
            Directory.CreateDirectory(folder);
            Probe(folder);
            return folder;
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException)
        {
            throw new IOException($"{folder}: {exception.Message}; name another folder with --state-dir", exception);
        }
    }

    private static string Default()
    {
        // The service manager may name several, with colons between.
        if (Environment.GetEnvironmentVariable("STATE_DIRECTORY") is { Length: > 0 } managed)
        {
            return managed.Split(':')[0];
        }

        var system = Path.Combine("/var/lib", Program);
        return OperatingSystem.IsLinux() && IsWritable(system)
            ? system
            : Path.Combine(Environment.GetFolderPath(Environment.SpecialFolder.LocalApplicationData, Environment.SpecialFolderOption.Create), Program);
    }

    private static bool IsWritable(string folder)
    {
        try
        {
            if (!Directory.Exists(folder))
            {
                return false;
            }

            Probe(folder);
            return true;
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException)
        {
            return false;
        }
    }

    private static void Probe(string folder)
    {
        using var probe = new FileStream(
            Path.Combine(folder, $".{Guid.NewGuid():N}"), FileMode.CreateNew, FileAccess.Write, FileShare.None, 1, FileOptions.DeleteOnClose);
    }
}

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

    /// <summary>The folder that a daemon of this computer would have written to, to be read only; null when there is none.</summary>
    public static string? Find(string? given)
    {
        var system = Path.Combine("/var/lib", Program);
        var folder = given is { Length: > 0 } ? Path.GetFullPath(given)
            : Managed() ?? (OperatingSystem.IsLinux() && Directory.Exists(system) ? system : Own(Environment.SpecialFolderOption.DoNotVerify));
        return Directory.Exists(folder) ? folder : null;
    }

    private static string Default()
    {
        var system = Path.Combine("/var/lib", Program);
        return Managed() ?? (OperatingSystem.IsLinux() && IsWritable(system) ? system : Own(Environment.SpecialFolderOption.Create));
    }

    // The service manager may name several, with colons between.
    private static string? Managed() => Environment.GetEnvironmentVariable("STATE_DIRECTORY") is { Length: > 0 } managed ? managed.Split(':')[0] : null;

    private static string Own(Environment.SpecialFolderOption option) =>
        Path.Combine(Environment.GetFolderPath(Environment.SpecialFolder.LocalApplicationData, option), Program);

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

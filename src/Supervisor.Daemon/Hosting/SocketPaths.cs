using System.Text;

namespace Supervisor.Daemon.Hosting;

/// <summary>Where the daemon's socket is, by one rule for daemon and clients.</summary>
public static class SocketPaths
{
    /// <summary>Names the socket for client verbs.</summary>
    public const string Variable = "AXIS_SUPERVISOR_SERVER";

    private const string Program = "axis-supervisor";
    private const string FileName = "api.sock";

    /// <summary>Room in struct sockaddr_un of Linux, less the zero at its end.</summary>
    private const int LongestPath = 107;
    private const UnixFileMode Private = UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute;
    private const UnixFileMode OthersAny =
        UnixFileMode.GroupRead | UnixFileMode.GroupWrite | UnixFileMode.GroupExecute | UnixFileMode.OtherRead | UnixFileMode.OtherWrite | UnixFileMode.OtherExecute;

    /// <summary>The places a socket may be, in order.</summary>
    public static IReadOnlyList<string> Candidates()
    {
        var places = new List<string>();
        if (OperatingSystem.IsLinux())
        {
            places.Add(Path.Combine("/run", Program, FileName));
        }

        if (Environment.GetEnvironmentVariable("XDG_RUNTIME_DIR") is { Length: > 0 } runtime)
        {
            places.Add(Path.Combine(runtime, Program, FileName));
        }

        places.Add(Path.Combine(Path.GetTempPath(), $"{Program}-{Environment.UserName}", FileName));
        return places;
    }

    /// <summary>The socket a client should use: as given, else by <see cref="Variable"/>, else the first that exists; null when there is none.</summary>
    public static string? ForClient(string? given)
    {
        if (given is { Length: > 0 })
        {
            return Strip(given);
        }

        if (Environment.GetEnvironmentVariable(Variable) is { Length: > 0 } named)
        {
            return Strip(named);
        }

        // Anyone can make a folder under the temporary directory: one that others may enter is not the daemon's.
        return Candidates().FirstOrDefault(path => File.Exists(path) && (!IsTemporary(path) || IsPrivate(Path.GetDirectoryName(path)!)));
    }

    /// <summary>The socket a daemon should make: as given, else in the first place whose folder it can make and write. The folder is made.</summary>
    /// <exception cref="IOException">None can be made; the message says why and what to do.</exception>
    public static string ForDaemon(string? given)
    {
        if (given is { Length: > 0 })
        {
            var path = Path.GetFullPath(Strip(given));
            return Prepare(path, out var problem) ? path : throw new IOException($"{path}: {problem}; name another place with --socket");
        }

        var reasons = new List<string>();
        foreach (var path in Candidates())
        {
            if (Prepare(path, out var problem))
            {
                return path;
            }

            reasons.Add($"{path}: {problem}");
        }

        throw new IOException($"no place for the socket ({string.Join("; ", reasons)}); name one with --socket");
    }

    private static string Strip(string text) => text.StartsWith("unix:", StringComparison.Ordinal) ? text["unix:".Length..] : text;

    private static bool Prepare(string path, out string problem)
    {
        problem = "";
        if (Encoding.UTF8.GetByteCount(path) > LongestPath)
        {
            problem = $"too long for a socket's path ({LongestPath} bytes at most)";
            return false;
        }

        var folder = Path.GetDirectoryName(path)!;
        try
        {
            if (!Directory.Exists(folder))
            {
                Make(folder, path);
            }

            if (IsTemporary(path) && !IsPrivate(folder))
            {
                problem = "its folder is open to others";
                return false;
            }

            // The lock beside the socket is made here too, so this shows whether the socket can be.
            using var probe = new FileStream(Path.Combine(folder, $".{Guid.NewGuid():N}"), FileMode.CreateNew, FileAccess.Write, FileShare.None, 1, FileOptions.DeleteOnClose);
            return true;
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException)
        {
            problem = exception.Message;
            return false;
        }
    }

    /// <summary>A folder under /run may be entered by the daemon's group; any other is the user's own.</summary>
    private static void Make(string folder, string path)
    {
        if (OperatingSystem.IsWindows())
        {
            Directory.CreateDirectory(folder);
            return;
        }

        var shared = path.StartsWith("/run/", StringComparison.Ordinal) && Path.GetDirectoryName(folder) == "/run";
        Directory.CreateDirectory(folder, shared ? Private | UnixFileMode.GroupRead | UnixFileMode.GroupExecute : Private);
    }

    private static bool IsTemporary(string path) => path == Candidates()[^1];

    private static bool IsPrivate(string folder) => OperatingSystem.IsWindows() || (File.GetUnixFileMode(folder) & OthersAny) == 0;
}

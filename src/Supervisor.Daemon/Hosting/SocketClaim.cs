using System.Net.Sockets;

namespace Supervisor.Daemon.Hosting;

/// <summary>The right of one daemon to one socket path: a lock beside it for as long as the process lives, and a stale socket file removed.</summary>
public sealed class SocketClaim : IDisposable
{
    private readonly FileStream _lock;

    private SocketClaim(string path, FileStream held)
    {
        Path = path;
        _lock = held;
    }

    /// <summary>Path of the socket.</summary>
    public string Path { get; }

    /// <summary>Claims a path; null when a daemon has it, or something answers there that is none.</summary>
    /// <param name="path">Path of the socket; its folder exists.</param>
    /// <param name="problem">Why not and what to do; empty when it was claimed.</param>
    public static SocketClaim? TryTake(string path, out string problem)
    {
        problem = "";
        FileStream? held = null;
        try
        {
            // The system drops the lock when the process ends in whatever way; the file stays, as removing it would let two hold it.
            held = new FileStream($"{path}.lock", FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None);
            if (Answers(path))
            {
                problem = $"{path}: something answers there already; end it, or name another place with --socket";
                held.Dispose();
                return null;
            }

            if (HoldsSomething(path))
            {
                problem = $"{path}: a file with something in it, and no socket; name another place with --socket";
                held.Dispose();
                return null;
            }

            File.Delete(path);
            return new SocketClaim(path, held);
        }
        catch (IOException) when (held is null)
        {
            problem = $"{path}: another axis-supervisor serves there; stop it first, or name another place with --socket";
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException)
        {
            problem = $"{path}: {exception.Message}; name another place with --socket";
            held?.Dispose();
        }

        return null;
    }

    /// <summary>Lets the daemon's group use the socket, and nobody else. Call it once the socket is there.</summary>
    public void Restrict()
    {
        if (!OperatingSystem.IsWindows())
        {
            File.SetUnixFileMode(Path, UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.GroupRead | UnixFileMode.GroupWrite);
        }
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        try
        {
            File.Delete(Path);
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException)
        {
            // The next daemon finds it stale.
        }

        _lock.Dispose();
    }

    /// <summary>A socket has no length (stat(2)): what has one is somebody's file, named by mistake.</summary>
    private static bool HoldsSomething(string path) => new FileInfo(path) is { Exists: true, Length: > 0 };

    private static bool Answers(string path)
    {
        if (!File.Exists(path))
        {
            return false;
        }

        using var socket = new Socket(AddressFamily.Unix, SocketType.Stream, ProtocolType.Unspecified);
        try
        {
            socket.Connect(new UnixDomainSocketEndPoint(path));
            return true;
        }
        catch (SocketException)
        {
            return false;
        }
    }
}

using System.Globalization;
using System.Text;

namespace Supervisor.Daemon.Verbs.Diagnose;

/// <summary>A process that has a device open.</summary>
/// <param name="Process">Its number.</param>
/// <param name="Command">Its command line, with blanks between.</param>
public sealed record DeviceHolder(int Process, string Command)
{
    /// <summary>True for a daemon of this program.</summary>
    public bool IsDaemon
    {
        get
        {
            var words = Command.Split(' ', StringSplitOptions.RemoveEmptyEntries);
            var program = Array.FindIndex(words, word => Path.GetFileNameWithoutExtension(word) == "axis-supervisor");
            return program >= 0 && words.Length > program + 1 && words[program + 1] is "serve" or "demo";
        }
    }
}

/// <summary>Who has a device open, by what the kernel shows under /proc: processes of this user; for root, of all.</summary>
/// <param name="root">Where the kernel shows processes.</param>
public sealed class DeviceHolders(string root = "/proc")
{
    /// <summary>Holders of a device, without this process.</summary>
    /// <param name="device">Path of the device node, links resolved.</param>
    public IReadOnlyList<DeviceHolder> Of(string device)
    {
        if (!Directory.Exists(root))
        {
            return [];
        }

        return [.. Directory.EnumerateDirectories(root)
            .Select(folder => int.TryParse(Path.GetFileName(folder), NumberStyles.None, CultureInfo.InvariantCulture, out var process) ? process : 0)
            .Where(process => process > 0 && process != Environment.ProcessId && Holds(process, device))
            .Order()
            .Select(process => new DeviceHolder(process, CommandOf(process)))];
    }

    private bool Holds(int process, string device)
    {
        try
        {
            return Directory.EnumerateFileSystemEntries(Path.Combine(root, process.ToString(CultureInfo.InvariantCulture), "fd"))
                .Any(entry => new FileInfo(entry).LinkTarget == device);
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException)
        {
            // Another user's, or it has just ended.
            return false;
        }
    }

    private string CommandOf(int process)
    {
        try
        {
            return Encoding.UTF8.GetString(File.ReadAllBytes(Path.Combine(root, process.ToString(CultureInfo.InvariantCulture), "cmdline"))).Replace('\0', ' ').Trim();
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException)
        {
            return "";
        }
    }
}

using System.Globalization;
using System.Text;

namespace Supervisor.Bus.Links;

/// <summary>A process that has a device open.</summary>
/// <param name="Process">Its number.</param>
/// <param name="Command">Its command line, with blanks between.</param>
public sealed record DeviceHolder(int Process, string Command)
{
    /// <summary>Both, as in <c>process 4711 (axis-supervisor serve …)</c>; the command's beginning only.</summary>
    public string Text => Command.Length switch
    {
        0 => $"process {Process}",
        > MostCharacters => $"process {Process} ({Command[..MostCharacters]}…)",
        _ => $"process {Process} ({Command})",
    };

    private const int MostCharacters = 80;
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

    /// <summary>True when this process itself has it open.</summary>
    /// <param name="device">Path of the device node, links resolved.</param>
    public bool IsOwn(string device) => Holds(Environment.ProcessId, device);

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

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
    private const string PseudoTerminals = "/dev/pts/";

    /// <summary>
    /// Holders of a device, without this process, and without the one that is the line of a pseudo-terminal: it may keep the device open only so that
    /// it stays, and asks nothing.
    /// </summary>
    /// <param name="device">Path of the device node, links resolved.</param>
    public IReadOnlyList<DeviceHolder> Of(string device)
    {
        if (!Directory.Exists(root))
        {
            return [];
        }

        return [.. Directory.EnumerateDirectories(root)
            .Select(folder => int.TryParse(Path.GetFileName(folder), NumberStyles.None, CultureInfo.InvariantCulture, out var process) ? process : 0)
            .Where(process => process > 0 && process != Environment.ProcessId && Holds(process, device) && !IsOtherEnd(process, device))
            .Order()
            .Select(process => new DeviceHolder(process, CommandOf(process)))];
    }

    /// <summary>True when this process itself has it open.</summary>
    /// <param name="device">Path of the device node, links resolved.</param>
    public bool IsOwn(string device) => Holds(Environment.ProcessId, device);

    /// <summary>True when a process has the other end of a pseudo-terminal: a file of its whose <c>fdinfo</c> names the device's number as <c>tty-index</c>.</summary>
    internal bool IsOtherEnd(int process, string device) =>
        device.StartsWith(PseudoTerminals, StringComparison.Ordinal) && int.TryParse(device.AsSpan(PseudoTerminals.Length), NumberStyles.None, CultureInfo.InvariantCulture, out var index)
        && HasFile(process, (folder, file) => file.LinkTarget?.EndsWith("/ptmx", StringComparison.Ordinal) == true
            && File.ReadLines(Path.Combine(folder, "fdinfo", file.Name)).Contains(string.Create(CultureInfo.InvariantCulture, $"tty-index:\t{index}")));

    private bool Holds(int process, string device) => HasFile(process, (_, file) => file.LinkTarget == device);

    private bool HasFile(int process, Func<string, FileInfo, bool> isIt)
    {
        try
        {
            var folder = Path.Combine(root, process.ToString(CultureInfo.InvariantCulture));
            return Directory.EnumerateFileSystemEntries(Path.Combine(folder, "fd")).Any(entry => isIt(folder, new FileInfo(entry)));
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

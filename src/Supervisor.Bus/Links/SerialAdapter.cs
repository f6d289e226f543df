using System.Globalization;

namespace Supervisor.Bus.Links;

/// <summary>What the system tells of the adapter behind a serial device without opening it.</summary>
public static class SerialAdapter
{
    /// <summary>The device node that a name leads to now; null when there is none.</summary>
    /// <param name="device">A node, or a link to one.</param>
    public static string? Node(string device)
    {
        ArgumentException.ThrowIfNullOrEmpty(device);
        try
        {
            var file = new FileInfo(device);
            var target = file.ResolveLinkTarget(returnFinalTarget: true)?.FullName ?? (file.Exists ? file.FullName : null);
            return target is not null && File.Exists(target) ? target : null;
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException)
        {
            return null;
        }
    }

    /// <summary>
    /// How long a USB adapter may keep what came before it hands it on, where its driver tells (<c>latency_timer</c> of the usb-serial drivers, in
    /// whole milliseconds): every answer waits for that. Null: not told, or no such adapter.
    /// </summary>
    /// <param name="device">A node, or a link to one.</param>
    /// <param name="systemRoot">Where the kernel shows devices.</param>
    public static TimeSpan? LatencyTimer(string device, string systemRoot = "/sys")
    {
        if (Node(device) is not { } node)
        {
            return null;
        }

        try
        {
            var path = Path.Combine(systemRoot, "class", "tty", Path.GetFileName(node), "device", "latency_timer");
            return File.Exists(path) && int.TryParse(File.ReadAllText(path).Trim(), NumberStyles.None, CultureInfo.InvariantCulture, out var latencyMs)
                ? TimeSpan.FromMilliseconds(latencyMs)
                : null;
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException)
        {
            return null;
        }
    }

    /// <summary>The name is given in the order of plugging in, so that it may mean another adapter after the next start: <c>/dev/ttyUSB0</c>, <c>/dev/ttyACM1</c>.</summary>
    /// <param name="device">The name as it is written, not what it leads to.</param>
    public static bool IsPassingName(string device)
    {
        ArgumentNullException.ThrowIfNull(device);
        var name = device.StartsWith("/dev/tty", StringComparison.Ordinal) ? device["/dev/tty".Length..] : "";
        return name.Length > 3 && name[..3] is "USB" or "ACM" && name.AsSpan(3).IndexOfAnyExceptInRange('0', '9') < 0;
    }
}

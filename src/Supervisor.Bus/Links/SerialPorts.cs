using System.IO.Ports;

namespace Supervisor.Bus.Links;

/// <summary>A serial port of this computer.</summary>
/// <param name="Name">What the system calls it now; it may change when adapters are plugged in another order.</param>
/// <param name="StableNames">Names that stay with the socket (by-path) or the adapter (by-id), the former first; empty where there are none.</param>
public sealed record SerialPortInfo(string Name, IReadOnlyList<string> StableNames);

/// <summary>Lists serial ports.</summary>
public static class SerialPorts
{
    /// <summary>By socket before by adapter: adapters without a serial number of their own share one by-id name.</summary>
    private static readonly string[] StableFolders = ["by-path", "by-id"];

    /// <summary>All serial ports, by name.</summary>
    public static IReadOnlyList<SerialPortInfo> List() => List(SerialPort.GetPortNames(), "/dev/serial");

    internal static IReadOnlyList<SerialPortInfo> List(IEnumerable<string> names, string stableRoot)
    {
        var links = StableLinks(stableRoot);
        return [.. names.Concat(links.Select(link => link.Device))
            .Distinct(StringComparer.Ordinal)
            .Order(StringComparer.Ordinal)
            .Select(name => new SerialPortInfo(name, [.. links.Where(link => link.Device == name).Select(link => link.Path)]))];
    }

    private static List<(string Path, string Device)> StableLinks(string root)
    {
        var links = new List<(string Path, string Device)>();
        foreach (var folder in StableFolders.Select(name => Path.Combine(root, name)).Where(Directory.Exists))
        {
            foreach (var path in Directory.EnumerateFileSystemEntries(folder).Order(StringComparer.Ordinal))
            {
                if (Device(path) is { } device)
                {
                    links.Add((path, device));
                }
            }
        }

        return links;
    }

    /// <summary>What a link points at; null when that is gone again.</summary>
    private static string? Device(string path)
    {
        try
        {
            return File.ResolveLinkTarget(path, returnFinalTarget: true) is { Exists: true } target ? target.FullName : null;
        }
        catch (IOException)
        {
            return null;
        }
    }
}

using System.Security.Cryptography;
using Supervisor.Configuration;
using Supervisor.Configuration.Machines;

namespace Supervisor.Daemon.Hosting;

/// <summary>What is to be supervised, read and checked before anything is started.</summary>
/// <param name="Machine">The machine file with the devices put in.</param>
/// <param name="FileHash">SHA-256 of the machine file, hexadecimal: the history tells by it which file a run had.</param>
/// <param name="StateFolder">Folder of the history; it exists and is writable.</param>
/// <param name="Claim">The socket.</param>
public sealed record SupervisionPlan(MachineDefinition Machine, string FileHash, string StateFolder, SocketClaim Claim)
{
    /// <summary>Reads a machine file and puts other devices in.</summary>
    /// <param name="path">Path of the file.</param>
    /// <param name="devices">NAME=PATH for each port whose device is another than the file's.</param>
    /// <param name="problems">Every error, one line each; empty when it is good.</param>
    /// <returns>The machine and the file's hash; null when there are errors.</returns>
    public static (MachineDefinition Machine, string FileHash)? Read(string path, IReadOnlyList<string> devices, out IReadOnlyList<string> problems)
    {
        ArgumentNullException.ThrowIfNull(devices);
        var result = MachineFile.Read(path);
        var found = new List<string>(result.Errors.Select(error => error.ToString()));
        problems = found;
        if (result.Value is not { } machine)
        {
            return null;
        }

        var ports = machine.Ports.ToArray();
        var named = new HashSet<string>(StringComparer.Ordinal);
        foreach (var device in devices)
        {
            if (Split(device, out var name, out var place) is { } problem)
            {
                found.Add(problem);
            }
            else if (machine.PortIndex(name) is >= 0 and var port)
            {
                ports[port] = ports[port] with { Device = place };
                if (!named.Add(name))
                {
                    found.Add($"--device {device}: port '{name}' is given twice");
                }
            }
            else
            {
                found.Add($"--device {device}: {path} has no port '{name}'; it has {string.Join(", ", machine.Ports.Select(each => each.Name))}");
            }
        }

        return found.Count > 0 ? null : (machine with { Ports = ports }, Convert.ToHexStringLower(SHA256.HashData(File.ReadAllBytes(path))));
    }

    private static string? Split(string text, out string name, out string place)
    {
        var equals = text.IndexOf('=', StringComparison.Ordinal);
        name = equals > 0 ? text[..equals] : "";
        place = equals > 0 ? text[(equals + 1)..] : "";
        if (name.Length == 0 || place.Length == 0)
        {
            return $"--device {text}: write NAME=PATH, such as line-a=/dev/ttyUSB0";
        }

        place = OperatingSystem.IsWindows() ? place : Path.GetFullPath(place);
        return null;
    }
}

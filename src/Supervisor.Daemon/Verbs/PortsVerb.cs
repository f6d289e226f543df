using System.CommandLine;
using Supervisor.Bus.Links;

namespace Supervisor.Daemon.Verbs;

/// <summary><c>ports [--json]</c>.</summary>
internal static class PortsVerb
{
    public static Command Build()
    {
        var json = ClientOptions.Json();
        var verb = new Command("ports", "List the serial ports of this computer with the names that stay.") { json };
        verb.SetAction(parsed =>
        {
            var ports = SerialPorts.List();
            if (parsed.GetValue(json))
            {
                JsonOut.Print(new PortsJson([.. ports.Select(port => new DeviceJson(port.Name, port.StableNames))]), JsonShapes.Readable.PortsJson);
            }
            else
            {
                Print(ports);
            }

            return ExitCode.Done;
        });
        return verb;
    }

    private static void Print(IReadOnlyList<SerialPortInfo> ports)
    {
        if (ports.Count == 0)
        {
            Console.Out.WriteLine("no serial ports found");
        }

        foreach (var port in ports)
        {
            Console.Out.WriteLine(port.Name);
            foreach (var name in port.StableNames)
            {
                Console.Out.WriteLine($"  {name}");
            }
        }
    }
}

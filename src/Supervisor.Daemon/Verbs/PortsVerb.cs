using System.CommandLine;
using Supervisor.Bus.Links;

namespace Supervisor.Daemon.Verbs;

/// <summary><c>ports [--json]</c>.</summary>
internal static class PortsVerb
{
    public static Command Build()
    {
        var json = ClientOptions.Json();
        var verb = new Command("ports", "List the serial ports of this computer with the names that stay, who holds each, and its adapter's latency timer. Opens none.") { json };
        verb.SetAction(parsed =>
        {
            var ports = SerialPorts.List().Select(Seen).ToList();
            if (parsed.GetValue(json))
            {
                JsonOut.Print(new PortsJson(ports), JsonShapes.Readable.PortsJson);
            }
            else
            {
                Print(ports);
            }

            return ExitCode.Done;
        });
        return verb;
    }

    private static DeviceJson Seen(SerialPortInfo port) => new(port.Name, port.StableNames)
    {
        HeldBy = [.. new DeviceHolders().Of(port.Name).Select(holder => holder.Text)],
        LatencyTimerMs = SerialAdapter.LatencyTimer(port.Name)?.TotalMilliseconds,
    };

    private static void Print(List<DeviceJson> ports)
    {
        if (ports.Count == 0)
        {
            Console.Out.WriteLine("no serial ports found");
        }

        foreach (var port in ports)
        {
            var latency = port.LatencyTimerMs is { } ms ? $", latency timer {Text.Of(ms)} ms" : "";
            Console.Out.WriteLine($"{port.Name}{(port.HeldBy.Count > 0 ? $", held by {string.Join(", ", port.HeldBy)}" : "")}{latency}");
            foreach (var name in port.StableNames)
            {
                Console.Out.WriteLine($"  {name}");
            }
        }
    }
}

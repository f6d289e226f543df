using Supervisor.Bus.Links;
using Supervisor.Configuration.Budget;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Verbs;

namespace Supervisor.Daemon.Hosting;

/// <summary>What should be mended about the devices of a machine's ports though they work: told without opening them.</summary>
internal static class PortAdvice
{
    // The least that adapters take (value from memory; ftdi_sio and others).
    private static readonly TimeSpan BestLatency = TimeSpan.FromMilliseconds(1);

    /// <summary>All of it, each with the port's name in front.</summary>
    public static IEnumerable<string> All(MachineDefinition machine, string systemRoot = "/sys") =>
        LineBudget.Of(machine).SelectMany(budget => Of(machine.Ports[budget.Port], budget, systemRoot).Concat(Answers(machine, budget.Port))
            .Select(advice => $"port {machine.Ports[budget.Port].Name}: {advice}"));

    /// <summary>About one port's device as it is now.</summary>
    public static IEnumerable<string> Of(MachineDefinition machine, int port, string systemRoot = "/sys") => Of(machine.Ports[port], LineBudget.Of(machine)[port], systemRoot);

    private static IEnumerable<string> Of(PortDefinition port, PortBudget budget, string systemRoot)
    {
        if (SerialAdapter.IsPassingName(port.Device))
        {
            var stable = SerialPorts.List().FirstOrDefault(each => each.Name == port.Device) is { StableNames: [var first, ..] } ? first : null;
            yield return $"{port.Device} may be another adapter after the next start; name it {stable ?? "under /dev/serial/by-path, or by an own udev rule"}";
        }

        if (SerialAdapter.LatencyTimer(port.Device, systemRoot) is { } latency && latency > BestLatency && !Allows(port, budget, latency))
        {
            yield return $"its adapter keeps what came for up to {Text.Of(latency.TotalMilliseconds)} ms (latency timer): {budget.Requests} requests a cycle may take "
                + $"{Text.Of(Math.Round((latency * budget.Requests).TotalMilliseconds, 1))} ms more, and the line leaves {Text.Of(Math.Round((port.Cycle - budget.Reached).TotalMilliseconds, 1))} ms "
                + $"of the cycle and {Text.Of(port.ResponseTimeout.TotalMilliseconds)} ms for an answer; set it to 1 by a udev rule with ATTR{{latency_timer}}=\"1\"";
        }
    }

    private static bool Allows(PortDefinition port, PortBudget budget, TimeSpan latency) =>
        budget.Reached + (latency * budget.Requests) <= port.Cycle && latency * 2 <= port.ResponseTimeout;

    /// <summary>The driver still sends while a drive that answers at once begins.</summary>
    private static IEnumerable<string> Answers(MachineDefinition machine, int port)
    {
        if (machine.Ports[port].Rs485 is not { } rs485 || rs485.DelayAfter == TimeSpan.Zero)
        {
            yield break;
        }

        foreach (var axis in machine.Axes.Where(axis => axis.Port == port && axis.Drive.Wire.Turnaround < rs485.DelayAfter))
        {
            yield return $"rs485.delayAfterMs {Text.Of(rs485.DelayAfter.TotalMilliseconds)} is longer than the {Text.Of(axis.Drive.Wire.Turnaround.TotalMilliseconds)} ms after which {axis.Name} may answer: "
                + "the beginning of its answers would be lost; give a shorter delay, or the drive a longer answering delay";
        }
    }
}

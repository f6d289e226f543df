using Supervisor.Configuration.Machines;
using Supervisor.Records.Tracing;
using Supervisor.Runtime.Inputs;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Stops;

namespace Supervisor.Runtime;

/// <summary>All that steppers and the coordinator share, made once from the machine file: rings, cells and the stop latch; no locks.</summary>
public sealed class MachineBoard
{
    // A minute at a cycle of 15 ms; longer at slower ones.
    private const int SamplesPerAxis = 4096;

    public MachineBoard(MachineDefinition machine)
    {
        ArgumentNullException.ThrowIfNull(machine);
        Machine = machine;
        Causes = new StopCauses(machine);
        Latch = new StopLatch(Causes.Count, machine.Axes.Count);
        Inputs = new InputBoard(machine);
        Ports = [.. machine.Ports.Select(_ => new PortChannel())];
        Axes = [.. machine.Axes.Select(_ => new SnapshotCell<AxisSnapshot>())];

        Traces = [.. machine.Ports.Select((_, port) => new TraceRing(Math.Max(1, machine.Axes.Count(axis => axis.Port == port)) * SamplesPerAxis))];

        // Emergency stop and guards start un-reset: whoever starts the machine resets them where they are wired.
        for (var i = 0; i < machine.Interlocks.Count; i++)
        {
            if (machine.Interlocks[i].Kind != InterlockKind.Process)
            {
                Latch.Trip(StopCauses.Interlock(i));
            }
        }
    }

    /// <summary>The machine file.</summary>
    public MachineDefinition Machine { get; }

    /// <summary>Meaning of the latch's bits.</summary>
    public StopCauses Causes { get; }

    /// <summary>The stops.</summary>
    public StopLatch Latch { get; }

    /// <summary>Inputs of interlocks and reset buttons.</summary>
    public InputBoard Inputs { get; }

    /// <summary>Rings by port.</summary>
    public IReadOnlyList<PortChannel> Ports { get; }

    /// <summary>Snapshots by axis, each written by its port's stepper.</summary>
    public IReadOnlyList<SnapshotCell<AxisSnapshot>> Axes { get; }

    /// <summary>Samples of every axis by port, each ring written by its port's stepper.</summary>
    public IReadOnlyList<TraceRing> Traces { get; }
}

using Supervisor.Configuration.Machines;
using Supervisor.Records.Tracing;
using Supervisor.Runtime.Contact;
using Supervisor.Runtime.Inputs;
using Supervisor.Runtime.Buttons;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Modules;
using Supervisor.Runtime.Outputs;
using Supervisor.Runtime.Parameters;
using Supervisor.Runtime.Stops;
using Supervisor.Runtime.Zones;

namespace Supervisor.Runtime;

/// <summary>All that steppers and the coordinator share, made once from the machine file: rings, cells and the stop latch; no locks.</summary>
public sealed class MachineBoard
{
    /// <param name="machine">The machine file.</param>
    /// <param name="remembered">What is known of each axis's zero from an earlier run, in the file's order; null: nothing.</param>
    /// <param name="unfinished">Sets of parameters that an earlier run did not see loaded whole, in the file's order; null: none.</param>
    /// <param name="heldLoads">Axes whose motor an earlier run left holding its load alone, in the file's order; null: none.</param>
    public MachineBoard(
        MachineDefinition machine, IReadOnlyList<ReferenceNote>? remembered = null, IReadOnlyList<UnfinishedSet?>? unfinished = null,
        IReadOnlyList<bool>? heldLoads = null)
    {
        ArgumentNullException.ThrowIfNull(machine);
        Remembered = remembered ?? new ReferenceNote[machine.Axes.Count];
        ArgumentOutOfRangeException.ThrowIfNotEqual(Remembered.Count, machine.Axes.Count, nameof(remembered));
        UnfinishedSets = unfinished ?? new UnfinishedSet?[machine.Axes.Count];
        ArgumentOutOfRangeException.ThrowIfNotEqual(UnfinishedSets.Count, machine.Axes.Count, nameof(unfinished));
        HeldLoads = heldLoads ?? new bool[machine.Axes.Count];
        ArgumentOutOfRangeException.ThrowIfNotEqual(HeldLoads.Count, machine.Axes.Count, nameof(heldLoads));
        Machine = machine;
        Causes = new StopCauses(machine);
        Latch = new StopLatch(Causes.Count, machine.Axes.Count);
        Inputs = new InputBoard(machine);
        Outputs = new OutputBoard(machine);
        Zones = new ZoneBoard(machine);
        Chips = [.. Inputs.Inputs.Select(input => input.Gpio?.Chip).Concat(Outputs.Places.Select(output => output.Gpio?.Chip))
            .OfType<string>().Distinct(StringComparer.Ordinal).Select(chip => new Beat(chip))];
        Ports = [.. machine.Ports.Select(_ => new PortChannel())];
        References = [.. machine.Axes.Select(_ => new SnapshotCell<ReferenceNote>())];
        ProofMemories = [.. machine.Axes.Select(_ => new SnapshotCell<BrakeProofNote>())];
        Proofs = [.. machine.Axes.Select(_ => new SnapshotCell<BrakeProofNote>())];
        Jogs = [.. machine.Axes.Select(_ => new JogCell())];
        Parameters = [.. machine.Axes.Select(axis => new ParameterCell(axis.Drive.Parameters.Count))];
        Modules = [.. machine.Modules.Select(_ => new SnapshotCell<ModuleSnapshot>())];
        Axes = [.. machine.Axes.Select(_ => new SnapshotCell<AxisSnapshot>())];

        Traces = [.. machine.Ports.Select((definition, port) => new TraceRing(TraceMemory.Samples(
            machine.Axes.Count(axis => axis.Port == port), definition.Cycle, machine.History.Recordings.Before)))];

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

    /// <summary>Outputs: what is wanted of each, and what its place has confirmed.</summary>
    public OutputBoard Outputs { get; }

    /// <summary>The zones, and which were found not clear.</summary>
    public ZoneBoard Zones { get; }

    /// <summary>Heartbeats of the threads of GPIO chips, by the chips' labels.</summary>
    public IReadOnlyList<Beat> Chips { get; }

    /// <summary>Rings by port.</summary>
    public IReadOnlyList<PortChannel> Ports { get; }

    /// <summary>Snapshots by axis, each written by its port's stepper.</summary>
    public IReadOnlyList<SnapshotCell<AxisSnapshot>> Axes { get; }

    /// <summary>Snapshots by module, each written by its port's stepper.</summary>
    public IReadOnlyList<SnapshotCell<ModuleSnapshot>> Modules { get; }

    /// <summary>What is known of each axis's zero from an earlier run.</summary>
    public IReadOnlyList<ReferenceNote> Remembered { get; }

    /// <summary>Sets of parameters that an earlier run did not see loaded whole; null for axes without one.</summary>
    public IReadOnlyList<UnfinishedSet?> UnfinishedSets { get; }

    /// <summary>True for an axis whose motor an earlier run left holding its load alone.</summary>
    public IReadOnlyList<bool> HeldLoads { get; }

    /// <summary>What each axis knows of its zero, written when it is gained or lost; version 0 while it is as remembered.</summary>
    public IReadOnlyList<SnapshotCell<ReferenceNote>> References { get; }

    /// <summary>The drives' parameters by axis.</summary>
    public IReadOnlyList<ParameterCell> Parameters { get; }

    /// <summary>What an earlier run knew of each brake's proof, written by whoever keeps it; version 0 while nothing is known.</summary>
    public IReadOnlyList<SnapshotCell<BrakeProofNote>> ProofMemories { get; }

    /// <summary>What is known of each brake's proof, written by the coordinator when it changes.</summary>
    public IReadOnlyList<SnapshotCell<BrakeProofNote>> Proofs { get; }

    /// <summary>Jog buttons by axis.</summary>
    public IReadOnlyList<JogCell> Jogs { get; }

    /// <summary>Samples of every axis by port, each ring written by its port's stepper.</summary>
    public IReadOnlyList<TraceRing> Traces { get; }
}

using Supervisor.Configuration.Machines;
using Supervisor.Machine;
using Supervisor.Runtime;
using Supervisor.Runtime.Axes;
using Supervisor.Runtime.Contact;
using Supervisor.Runtime.Parameters;
using Supervisor.Runtime.Ports;
using Supervisor.Simulation.Wires;

namespace Supervisor.Scenarios.World;

/// <summary>One run of the supervisor over drives that outlive it: its board, its ports' steppers, its coordinator, all on the queue's one thread.</summary>
public sealed class SupervisorProcess
{
    /// <summary>How often the coordinator steps; as the daemon's thread does while something happens.</summary>
    public static readonly TimeSpan CoordinatorPeriod = TimeSpan.FromMilliseconds(5);

    private readonly EventQueue _queue;
    private readonly Action _coordinate;

    public SupervisorProcess(EventQueue queue, MachineDefinition machine, SimulatedMachine plant, IJournal journal, ulong seed, IReadOnlyList<ReferenceNote>? remembered = null, IReadOnlyList<UnfinishedSet?>? unfinished = null,
        IReadOnlyList<bool>? heldLoads = null)
    {
        _queue = queue;
        _coordinate = Coordinate;
        Board = new MachineBoard(machine, remembered, unfinished, heldLoads);
        Coordinator = new Coordinator(Board, journal);
        Steppers = [.. machine.Ports.Select((_, port) => new PortStepper(Board, port))];
        Ports = [.. machine.Ports.Select((_, port) => new SimulatedPort(queue, Steppers[port], plant.Lines[port], port, seed + (ulong)port))];
        Axes = [.. Steppers.SelectMany(stepper => stepper.Axes).OrderBy(axis => axis.Index)];
    }

    public MachineBoard Board { get; }

    public Coordinator Coordinator { get; }

    public IReadOnlyList<PortStepper> Steppers { get; }

    public IReadOnlyList<SimulatedPort> Ports { get; }

    /// <summary>The axes in the machine file's order.</summary>
    public IReadOnlyList<Axis> Axes { get; }

    /// <summary>Called after every step of the coordinator.</summary>
    public Action? Coordinated { get; set; }

    /// <summary>True while the coordinator's thread gets no time.</summary>
    public bool IsHeldUp { get; set; }

    /// <summary>False once the process is gone.</summary>
    public bool IsRunning { get; private set; }

    /// <summary>Begins to run.</summary>
    public void Start()
    {
        IsRunning = true;
        foreach (var port in Ports)
        {
            port.Start();
        }

        _queue.After(CoordinatorPeriod, _coordinate);
    }

    /// <summary>The process is gone from this instant: whatever it was about to do is not done. Drives hear nobody.</summary>
    public void Kill()
    {
        IsRunning = false;
        foreach (var port in Ports)
        {
            port.IsHeld = true;
        }
    }

    private void Coordinate()
    {
        if (!IsRunning)
        {
            return;
        }

        if (!IsHeldUp)
        {
            Coordinator.Step(_queue.Now);
        }

        Coordinated?.Invoke();
        _queue.After(CoordinatorPeriod, _coordinate);
    }
}

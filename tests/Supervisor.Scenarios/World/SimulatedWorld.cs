using Supervisor.Configuration.Machines;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime;
using Supervisor.Runtime.Contact;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Parameters;
using Supervisor.Runtime.Ports;
using Supervisor.Runtime.Stops;
using Supervisor.Simulation.Drives;
using Supervisor.Simulation.Wires;

namespace Supervisor.Scenarios.World;

/// <summary>A whole machine in simulated time: its drives and plants, its lines, and the real steppers on them.</summary>
public sealed class SimulatedWorld
{
    private readonly List<AxisReport> _reports = [];
    private readonly List<FaultEvent> _faults = [];
    private readonly FrameTrace _trace = new();
    private ulong _lastId;

    public SimulatedWorld(MachineDefinition machine, ulong seed, IReadOnlyList<UnfinishedSet?>? unfinished = null)
    {
        Machine = machine;
        Queue = new EventQueue();
        Board = new MachineBoard(machine, unfinished: unfinished);
        Plant = new SimulatedMachine(machine, seed);
        Steppers = [.. machine.Ports.Select((_, port) => new PortStepper(Board, port))];
        Ports = [.. machine.Ports.Select((_, port) => new SimulatedPort(Queue, Steppers[port], Plant.Lines[port], port, seed + (ulong)port))];
        foreach (var port in Ports)
        {
            port.FrameBegun = Frame;
            port.Start();
        }
    }

    public MachineDefinition Machine { get; }

    public EventQueue Queue { get; }

    public MachineBoard Board { get; private set; }

    public SimulatedMachine Plant { get; }

    public IReadOnlyList<PortStepper> Steppers { get; private set; }

    public IReadOnlyList<SimulatedPort> Ports { get; private set; }

    /// <summary>What was noted of every axis's zero so far: what a supervisor that starts now would read from its file.</summary>
    public ReferenceNote[] Notes() =>
        [.. Board.References.Select((cell, axis) => cell.Read() is { IsKnown: true } note ? note : Board.Remembered[axis])];

    /// <summary>The supervisor ends without a word, as if killed; the drives go on by themselves.</summary>
    public void KillSupervisor()
    {
        foreach (var port in Ports)
        {
            port.IsHeld = true;
        }
    }

    /// <summary>Another supervisor starts on the same lines.</summary>
    /// <param name="remembered">What it knows of the zeros; null: nothing.</param>
    /// <param name="heldLoads">Which axes it was left holding; null: none.</param>
    public void StartSupervisor(ReferenceNote[]? remembered, bool[]? heldLoads = null)
    {
        Board = new MachineBoard(Machine, remembered, heldLoads: heldLoads);
        Steppers = [.. Machine.Ports.Select((_, port) => new PortStepper(Board, port))];
        Ports = [.. Machine.Ports.Select((_, port) => new SimulatedPort(Queue, Steppers[port], Plant.Lines[port], port, (ulong)port))];
        foreach (var port in Ports)
        {
            port.FrameBegun = Frame;
            port.Start();
        }
    }

    /// <summary>Called with every request frame.</summary>
    public Action<WireFrame>? FrameBegun { get; set; }

    /// <summary>Reports of all axes so far.</summary>
    public IReadOnlyList<AxisReport> Reports
    {
        get
        {
            Drain();
            return _reports;
        }
    }

    /// <summary>Faults of all axes so far.</summary>
    public IReadOnlyList<FaultEvent> Faults
    {
        get
        {
            Drain();
            return _faults;
        }
    }

    /// <summary>The demo machine.</summary>
    public static MachineDefinition DemoMachine()
    {
        var result = MachineFile.Read(Path.Combine(AppContext.BaseDirectory, "demo", "machine.json"));
        Assert.Empty(result.Errors);
        return result.Value!;
    }

    /// <summary>Digest of every frame and its time so far.</summary>
    public string TraceDigest() => _trace.ToString();

    public int Axis(string name) => Machine.Axes.Select((axis, index) => (axis, index)).Single(pair => pair.axis.Name == name).index;

    public AxisSnapshot Snapshot(string axis) => Board.Axes[Axis(axis)].Read();

    /// <summary>The drive of an axis, as it is now: drives stand still in time until somebody looks or speaks to them.</summary>
    public SimulatedDrive Drive(string axis)
    {
        var drive = Plant.Drives[Axis(axis)];
        drive.Advance(Queue.Now);
        return drive;
    }

    /// <summary>Lets time pass.</summary>
    public void Run(double seconds) => Queue.RunUntil(Queue.Now + TimeSpan.FromSeconds(seconds));

    /// <summary>Lets time pass until a condition holds.</summary>
    public void RunUntil(Func<bool> condition, double withinSeconds, string what) =>
        Assert.True(Queue.RunUntil(condition, TimeSpan.FromSeconds(withinSeconds)), $"not within {withinSeconds} s: {what}");

    /// <summary>Every drive met, every interlock reset as a person at the machine would.</summary>
    public void StartUp()
    {
        RunUntil(() => Machine.Axes.All(axis => Snapshot(axis.Name).Online), 10, "every axis met");
        ResetInterlocks();
        Run(0.1);
    }

    public void ResetInterlocks()
    {
        for (var cause = 0; cause < Board.Causes.Count; cause++)
        {
            Board.Latch.Reset(cause, Board.Latch.TripCount(cause));
        }
    }

    public ulong Give(string axis, AxisCommandKind kind, double target = 0, double? velocity = null, double torque = 0, bool confirmed = false)
    {
        var index = Axis(axis);
        var limits = Machine.Axes[index].Limits;
        var command = new AxisCommand(++_lastId, (short)index, kind, Board.Latch.StopEpoch(index), target,
            velocity ?? limits.Velocity, limits.Acceleration, limits.Deceleration, torque, confirmed);
        Assert.True(Board.Ports[Machine.Axes[index].Port].Mailbox.TryWrite(command));
        return command.Id;
    }

    /// <summary>How a command ended, <see cref="Outcome.None"/> while it has not.</summary>
    public AxisReport EndOf(ulong id) => Reports.LastOrDefault(report => report.CommandId == id && report.Outcome != Outcome.None);

    /// <summary>Gives a command and waits for its end, which must be Done.</summary>
    public void Do(string axis, AxisCommandKind kind, double target = 0, double? velocity = null, double torque = 0, double within = 30)
    {
        var id = Give(axis, kind, target, velocity, torque);
        RunUntil(() => EndOf(id).Outcome != Outcome.None, within, $"{kind} {axis} {target} ends");
        var end = EndOf(id);
        Assert.True(end.Outcome == Outcome.Done, $"{kind} {axis} {target}: {end}");
    }

    /// <summary>State of an axis.</summary>
    public AxisState State(string axis) => Snapshot(axis).State;

    /// <summary>Trips an interlock by its name.</summary>
    public void Trip(string interlock) => Board.Latch.Trip(StopCauses.Interlock(
        Machine.Interlocks.Select((entry, index) => (entry, index)).Single(pair => pair.entry.Name == interlock).index));

    private void Frame(TimeSpan at, int port, ReadOnlySpan<byte> bytes)
    {
        _trace.Add(at, port, bytes);
        FrameBegun?.Invoke(new WireFrame(at, port, bytes.ToArray()));
    }

    private void Drain()
    {
        foreach (var channel in Board.Ports)
        {
            while (channel.Reports.TryRead(out var report))
            {
                _reports.Add(report);
            }

            while (channel.Faults.TryRead(out var fault))
            {
                _faults.Add(fault);
            }
        }
    }
}

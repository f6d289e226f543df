using Supervisor.Configuration.Machines;
using Supervisor.Machine;
using Supervisor.Machine.Alarms;
using Supervisor.Machine.Api;
using Supervisor.Machine.Recovery;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Records.Stops;
using Supervisor.Runtime.Parameters;

namespace Supervisor.Scenarios.World;

/// <summary>A simulated machine under its coordinator: everything but the process, as people and clients meet it.</summary>
public sealed class SupervisedMachine
{
    private static readonly TimeSpan CoordinatorPeriod = TimeSpan.FromMilliseconds(5);

    /// <param name="machine">The machine file.</param>
    /// <param name="seed">Decides where the axes stand.</param>
    /// <param name="unfinished">Sets of parameters that an earlier run did not see loaded whole.</param>
    public SupervisedMachine(MachineDefinition machine, ulong seed, IReadOnlyList<UnfinishedSet?>? unfinished = null)
    {
        World = new SimulatedWorld(machine, seed, unfinished);
        Coordinator = new Coordinator(World.Board, Journal);
        World.Queue.After(CoordinatorPeriod, Coordinate);
    }

    public SimulatedWorld World { get; }

    public Coordinator Coordinator { get; private set; }

    public Journal Journal { get; } = new();

    public MachineControl Control => Coordinator.Control;

    /// <summary>The grant most scenarios command with.</summary>
    public AuthorityGrant? Grant { get; set; }

    /// <summary>True while the coordinator's thread gets no time.</summary>
    public bool IsHeldUp { get; set; }

    /// <summary>The supervisor is killed and another one starts, with what the files of the one before would tell it. Authority is nobody's then.</summary>
    public void Restart(double downSeconds)
    {
        var notes = World.Notes();
        bool[] held = [.. World.Board.Proofs.Select(cell => cell.Read().LoadHeld)];
        ReducedSpeedNote[] slow = [.. Coordinator.SlowAxes.Select(cell => cell.Read() with { Version = 0 })];
        long[] counts = [.. Coordinator.Counters.Select(cell => cell.Read().Count)];
        var alarms = Control.Alarms.Alarms;
        World.KillSupervisor();
        IsHeldUp = true;
        Run(downSeconds);
        World.StartSupervisor(notes, held);
        (Coordinator, Grant, IsHeldUp) = (new Coordinator(World.Board, Journal, slow: slow, counts: counts, alarms: alarms), null, false);
    }

    public AxisStatus Axis(string name) => Control.Status().Axes.Single(axis => axis.Name == name);

    public void Run(double seconds) => World.Run(seconds);

    public void RunUntil(Func<bool> condition, double withinSeconds, string what) => World.RunUntil(condition, withinSeconds, what);

    /// <summary>Presses and releases the machine's reset button.</summary>
    public void PressReset(double forSeconds = 0.3)
    {
        World.Drive("tray").SetInput("input3", true);
        Run(forSeconds);
        World.Drive("tray").SetInput("input3", false);
        Run(0.2);
    }

    /// <summary>Every axis met, the button pressed, authority taken.</summary>
    public void StartUp()
    {
        RunUntil(() => Control.Status().Axes.All(axis => axis.Online), 10, "every axis met");
        PressReset();
        Assert.True(Control.Status().MotionPermitted);
        Grant = Control.TryAcquire("operator", out var refusal);
        Assert.Null(refusal);
    }

    /// <summary>Submits a command and waits for its end.</summary>
    public CommandAnswer Do(MachineCommand command, double within = 60)
    {
        var ticket = Control.Submit(command, Grant);
        RunUntil(() => ticket.Completion.IsCompleted, within, $"{command} ends");
        return Ended(ticket);
    }

    /// <summary>The answer of a command that has ended; nothing waits here, time is simulated.</summary>
    public static CommandAnswer Ended(CommandTicket ticket)
    {
        Assert.True(ticket.Completion.IsCompleted);
        return ticket.Completion.Result;
    }

    /// <summary>Submits a command whose end must be Done.</summary>
    public void Done(MachineCommand command, double within = 60)
    {
        var answer = Do(command, within);
        Assert.True(answer.Outcome == Outcome.Done, $"{command}: {answer}");
    }

    /// <summary>Indices of axes.</summary>
    public int[] Axes(params string[] names) => [.. names.Select(World.Axis)];

    public MoveCommand Move(string axis, double to) => new([new MoveTarget(World.Axis(axis), to, false)], null);

    public AxisState State(string axis) => Axis(axis).State;

    private void Coordinate()
    {
        if (!IsHeldUp)
        {
            Coordinator.Step(World.Queue.Now);
        }

        World.Queue.After(CoordinatorPeriod, Coordinate);
    }
}

/// <summary>Keeps what the coordinator tells.</summary>
public sealed class Journal : IJournal
{
    public List<FaultEvent> Faults { get; } = [];

    public List<(int Interlock, InterlockChange Change, string Inputs)> Interlocks { get; } = [];

    public List<(int Axis, string What)> Recoveries { get; } = [];

    public List<(MachineCommand Command, CommandAnswer Answer)> Commands { get; } = [];

    public List<(int Port, bool Open)> Ports { get; } = [];

    public void Fault(in FaultEvent fault) => Faults.Add(fault);

    public List<(int Port, long Count)> LostFaults { get; } = [];

    public void FaultsLost(int port, long count, TimeSpan at) => LostFaults.Add((port, count));

    public void Interlock(int interlock, InterlockChange change, string inputs, TimeSpan at) => Interlocks.Add((interlock, change, inputs));

    public List<RecoveryNote> RecoveryNotes { get; } = [];

    public void Recovery(in RecoveryNote note)
    {
        Recoveries.Add((note.Axis, note.What));
        RecoveryNotes.Add(note);
    }

    public void Command(MachineCommand command, string holder, CommandAnswer answer, TimeSpan at) => Commands.Add((command, answer));

    public List<(int Axis, FaultCode After, AxisReturn Step)> Returns { get; } = [];

    public void Returned(int axis, FaultCode after, AxisReturn step, TimeSpan at) => Returns.Add((axis, after, step));

    public List<MeasuredStop> Stops { get; } = [];

    public void Stop(in MeasuredStop stop) => Stops.Add(stop);

    public List<(MeasuredTimeout Measured, string Holder)> Timeouts { get; } = [];

    public void Timeout(in MeasuredTimeout measured, string holder) => Timeouts.Add((measured, holder));

    public void Port(int port, bool open, TimeSpan at) => Ports.Add((port, open));

    public List<AlarmNote> Alarms { get; } = [];

    public void Alarm(in AlarmNote note) => Alarms.Add(note);
}

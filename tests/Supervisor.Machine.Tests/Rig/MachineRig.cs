using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Interlocks;
using Supervisor.Machine.Recovery;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Runtime;

namespace Supervisor.Machine.Tests.Rig;

/// <summary>A coordinator between a client and fake ports, in simulated time: 5 ms a step, ports first.</summary>
internal sealed class MachineRig
{
    public static readonly TimeSpan Period = TimeSpan.FromMilliseconds(5);

    public MachineRig(MachineDefinition? machine = null, InputFileReader? readFile = null, IReadOnlyList<ReducedSpeedNote>? slow = null)
    {
        Board = new MachineBoard(machine ?? Machines.Seeder());
        Coordinator = new Coordinator(Board, Journal, readFile, slow);
        Ports = [.. Enumerable.Range(0, Board.Ports.Count).Select(port => new FakePort(Board, port))];
    }

    public MachineBoard Board { get; }

    public Coordinator Coordinator { get; }

    public MachineControl Control => Coordinator.Control;

    public FakeJournal Journal { get; } = new();

    public FakePort[] Ports { get; }

    public TimeSpan Now { get; private set; } = TimeSpan.FromSeconds(100);

    public AuthorityGrant? Grant { get; private set; }

    public FakePort PortOf(int axis) => Ports[Board.Machine.Axes[axis].Port];

    public FakeAxis Axis(int axis) => PortOf(axis)[axis];

    /// <summary>A machine with interlocks closed and reset, authority held, all axes referenced and Ready.</summary>
    public static MachineRig Ready(MachineDefinition? machine = null, IReadOnlyList<ReducedSpeedNote>? slow = null)
    {
        var rig = Started(machine, slow);
        for (var axis = 0; axis < rig.Board.Axes.Count; axis++)
        {
            ref var now = ref rig.Axis(axis).Now;
            (now.State, now.TorqueOn, now.Referenced) = (AxisState.Ready, true, true);
        }

        rig.Step();
        return rig;
    }

    /// <summary>A machine with interlocks closed and reset, authority held, all axes Disabled and unreferenced.</summary>
    public static MachineRig Started(MachineDefinition? machine = null, IReadOnlyList<ReducedSpeedNote>? slow = null)
    {
        var rig = new MachineRig(machine, slow: slow);
        rig.Run(50);
        rig.PressReset(150);
        rig.Grant = rig.Control.TryAcquire("operator", out _);
        rig.Journal.Clear();
        return rig;
    }

    public void Step(int times = 1)
    {
        for (var i = 0; i < times; i++)
        {
            Now += Period;
            foreach (var port in Ports)
            {
                port.Step(Now);
            }

            Coordinator.Step(Now);
        }
    }

    /// <summary>Everything stands still for a while, as when the computer does; the coordinator is the first to go on.</summary>
    public void Stall(TimeSpan time)
    {
        Now += time;
        Coordinator.Step(Now);
    }

    /// <summary>Lets time pass.</summary>
    public void Run(double ms) => Step((int)Math.Ceiling(ms / Period.TotalMilliseconds));

    public void Set(string input, bool level)
    {
        foreach (var port in Ports)
        {
            port.Levels[input] = level;
        }
    }

    /// <summary>Sets an input and lets everybody see it.</summary>
    public void SetAndSee(string input, bool level)
    {
        Set(input, level);
        Step(2);
    }

    /// <summary>Presses the machine's reset button for a while and releases it.</summary>
    public void PressReset(double ms)
    {
        Set("tray.input3", true);
        Run(ms);
        SetAndSee("tray.input3", false);
    }

    public CommandTicket Submit(MachineCommand command) => Control.Submit(command, Grant);

    /// <summary>Submits a command and lets time pass until it has ended.</summary>
    public CommandAnswer Do(MachineCommand command, double withinMs = 10_000)
    {
        var ticket = Submit(command);
        for (var left = withinMs; left > 0 && !ticket.Completion.IsCompleted; left -= Period.TotalMilliseconds)
        {
            Step();
        }

        return Answer(ticket);
    }

    /// <summary>The answer of a command that must have ended.</summary>
    public static CommandAnswer Answer(CommandTicket ticket)
    {
        Assert.True(ticket.Completion.IsCompletedSuccessfully, $"Command {ticket.Id} has not ended.");
        Assert.True(ticket.Accepted.IsCompletedSuccessfully, $"Command {ticket.Id} ended without an answer to whoever waits for its acceptance.");
        return ticket.Completion.GetAwaiter().GetResult();
    }

    /// <summary>Refused, by that reason, in one sentence that names all of <paramref name="words"/>.</summary>
    public static void AssertRefused(CommandAnswer answer, Refusal reason, params string[] words)
    {
        Assert.Equal((Outcome.Refused, reason), (answer.Outcome, answer.Refusal));
        Assert.DoesNotContain('\n', answer.Message);
        foreach (var word in words)
        {
            Assert.Contains(word, answer.Message, StringComparison.Ordinal);
        }
    }

    public InterlockStatus Interlock(int interlock) => Control.Status().Interlocks[interlock];
}

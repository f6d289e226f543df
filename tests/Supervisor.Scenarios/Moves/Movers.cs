using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Moves;

/// <summary>The demo machine ready to move, and words for what the scenarios of moves look at.</summary>
internal static class Movers
{
    /// <summary>Homed and enabled, the gantry at 100 mm.</summary>
    public static SupervisedMachine Working(ulong seed, MachineDefinition? definition = null)
    {
        var machine = new SupervisedMachine(definition ?? SimulatedWorld.DemoMachine(), seed);
        machine.StartUp();
        machine.Done(new HomeCommand([]));
        machine.Done(new EnableCommand(machine.Axes("tray", "drum")));
        machine.Done(machine.Move("gantry", 100));
        machine.Done(machine.Move("drum", 0));
        return machine;
    }

    public static CommandTicket Give(this SupervisedMachine machine, MachineCommand command) => machine.Control.Submit(command, machine.Grant);

    /// <summary>Gives a command and waits until its axes have taken it.</summary>
    public static CommandTicket Begin(this SupervisedMachine machine, MachineCommand command)
    {
        var ticket = machine.Give(command);
        machine.RunUntil(() => ticket.Accepted.IsCompleted, 2, $"{command} taken");
        Assert.Null(ticket.Accepted.Result);
        return ticket;
    }

    public static (Outcome, Refusal) End(this CommandTicket ticket) => SupervisedMachine.Ended(ticket) is var end ? (end.Outcome, end.Refusal) : default;

    public static MoveCommand By(this SupervisedMachine machine, string axis, double by, bool fromActual = false) =>
        new([new MoveTarget(machine.World.Axis(axis), by, !fromActual) { FromActual = fromActual }], null);

    public static MoveCommand Endless(this SupervisedMachine machine, string axis, double velocity) =>
        new([new MoveTarget(machine.World.Axis(axis), velocity, false) { WithoutEnd = true }], null);

    public static void UntilReady(this SupervisedMachine machine, string axis, double within = 10) =>
        machine.RunUntil(() => machine.State(axis) == AxisState.Ready, within, $"{axis} stands");

    /// <summary>Where the plant is, unit, since its own mark: not wrapped.</summary>
    public static double Plant(this SupervisedMachine machine, string axis) => machine.World.Drive(axis).Plant.Position;

    public static double Speed(this SupervisedMachine machine, string axis) => Math.Abs(machine.World.Drive(axis).Plant.Velocity);
}

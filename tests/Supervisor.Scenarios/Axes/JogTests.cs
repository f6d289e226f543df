using Supervisor.Machine.Api;
using Supervisor.Machine.Modes;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Axes;

/// <summary>A jog moves only while somebody holds its button, and an ended press never moves again.</summary>
public sealed class JogTests
{
    [Fact]
    public void Jog_Refreshed_MovesAndHaltsWhenReleased()
    {
        var machine = Working(51);
        var before = machine.Axis("gantry").Position;
        var press = Press(machine, "gantry", positive: true);
        Hold(machine, press, 1);
        Assert.Equal(60, machine.Axis("gantry").Velocity, 1.0);
        press.Release();
        machine.RunUntil(() => machine.State("gantry") == AxisState.Ready, 1, "gantry stands");
        Assert.Equal(Outcome.Done, SupervisedMachine.Ended(press.Ticket).Outcome);
        Assert.InRange(machine.Axis("gantry").Position - before, 50, 75);
        Assert.False(machine.Axis("gantry").StopLocked);
        Assert.Empty(machine.Journal.Faults);
    }

    [Fact]
    public void Jog_NotRefreshed_LapsesAndItsIdNeverMovesAgain()
    {
        var machine = Working(52);
        var press = Press(machine, "gantry", positive: true);
        Hold(machine, press, 0.5);
        machine.Run(0.2);
        Assert.Equal(AxisState.Moving, machine.State("gantry"));
        machine.RunUntil(() => machine.State("gantry") == AxisState.Ready, 1, "gantry stands by itself");
        machine.Run(0.1);
        Assert.Equal((Outcome.Replaced, Refusal.JogLapsed), SupervisedMachine.Ended(press.Ticket) is var end ? (end.Outcome, end.Refusal) : default);
        var stood = machine.World.Drive("gantry").CountedPosition;
        Assert.False(press.Refresh());
        machine.Run(1);
        Assert.Equal(stood, machine.World.Drive("gantry").CountedPosition, 50.0);
    }

    [Fact]
    public void Jog_ThatWaitedOnItsWayLongerThanItsLapse_MovesNothing()
    {
        var machine = Working(58);
        var before = machine.World.Drive("gantry").CountedPosition;
        machine.IsHeldUp = true;
        var press = Press(machine, "gantry", positive: true);
        machine.Run(0.3);
        machine.IsHeldUp = false;
        machine.Run(0.5);
        Assert.Equal(Refusal.JogEnded, SupervisedMachine.Ended(press.Ticket).Refusal);
        Assert.Equal(before, machine.World.Drive("gantry").CountedPosition, 50.0);
    }

    [Fact]
    public void Jog_ReleasedBeforeTheAxisTookIt_MovesNothing()
    {
        var machine = Working(53);
        var before = machine.World.Drive("gantry").CountedPosition;
        var press = Press(machine, "gantry", positive: true);
        press.Release();
        Assert.False(press.Refresh());
        machine.Run(1);
        Assert.Equal(Refusal.JogEnded, SupervisedMachine.Ended(press.Ticket).Refusal);
        Assert.Equal(before, machine.World.Drive("gantry").CountedPosition, 50.0);
    }

    [Fact]
    public void Jog_HeldToTheLimit_RampsDownThereAndIsDone()
    {
        var machine = Working(54);
        machine.Done(machine.Move("gantry", 790));
        var press = Press(machine, "gantry", positive: true);
        var farthest = 0.0;
        for (var i = 0; i < 40 && !press.Ticket.Completion.IsCompleted; i++)
        {
            press.Refresh();
            machine.Run(0.08);
            farthest = Math.Max(farthest, machine.Axis("gantry").Position);
        }

        Assert.Equal(Outcome.Done, SupervisedMachine.Ended(press.Ticket).Outcome);
        Assert.InRange(farthest, 819, 820.2);

        // Outwards is refused, back is not.
        var outwards = Press(machine, "gantry", positive: true);
        machine.Run(0.2);
        Assert.Equal(Refusal.PositionLimit, SupervisedMachine.Ended(outwards.Ticket).Refusal);
        var back = Press(machine, "gantry", positive: false);
        Hold(machine, back, 1);
        Assert.True(machine.Axis("gantry").Position < 800);
        Assert.Empty(machine.Journal.Faults);
    }

    [Fact]
    public void Jog_AxisThatDoesNotKnowItsPlace_MovesSlowlyInMaintenanceModeAndIsHomedThen()
    {
        var machine = new SupervisedMachine(SimulatedWorld.DemoMachine(), 58);
        machine.StartUp();
        var axes = machine.Axes("dibber");
        Assert.Equal(Refusal.NotReferenced, machine.Do(new EnableCommand(axes)).Refusal);
        machine.Done(new ChooseModeCommand(MachineMode.Maintenance));
        machine.Done(new EnableCommand(axes));
        Assert.False(machine.Axis("dibber").Referenced);

        var before = machine.World.Drive("dibber").CountedPosition;
        var press = machine.Control.Jog(new JogCommand(axes[0], true, null), machine.Grant);
        Hold(machine, press, 1);
        var slow = machine.Control.Machine.Axes[axes[0]].JogVelocity;
        Assert.InRange(machine.Axis("dibber").Velocity, slow * 0.9, slow * 1.1);
        machine.Run(1);
        Assert.Equal(AxisState.Ready, machine.State("dibber"));
        Assert.NotEqual(before, machine.World.Drive("dibber").CountedPosition);
        Assert.Equal(Refusal.NotReferenced, machine.Do(machine.Move("dibber", 10)).Refusal);

        // Back to production only with a zero, or without torque.
        Assert.Equal(Refusal.NotReferenced, machine.Do(new ChooseModeCommand(MachineMode.Production)).Refusal);
        machine.Done(new HomeCommand(axes));
        machine.Done(new ChooseModeCommand(MachineMode.Production));
        Assert.Empty(machine.Journal.Faults);
    }

    [Fact]
    public void Jog_SecondPress_TakesTheFirstOnesPlace()
    {
        var machine = Working(55);
        var first = Press(machine, "gantry", positive: true);
        Hold(machine, first, 0.5);
        var second = Press(machine, "gantry", positive: false);
        Hold(machine, second, 1.5);
        Assert.False(first.Refresh());
        Assert.Equal(Outcome.Done, SupervisedMachine.Ended(first.Ticket).Outcome);
        Assert.True(machine.Axis("gantry").Velocity < -40);
    }

    [Fact]
    public void Jog_AuthorityLostOrStopped_Halts()
    {
        var machine = Working(56);
        var press = Press(machine, "gantry", positive: true);
        Hold(machine, press, 0.5);
        machine.Grant!.Dispose();
        Hold(machine, press, 0.6);
        Assert.Equal(AxisState.Ready, machine.State("gantry"));
        Assert.Equal(Outcome.Replaced, SupervisedMachine.Ended(press.Ticket).Outcome);

        machine.Grant = machine.Control.TryAcquire("another", out _);
        press = Press(machine, "gantry", positive: true);
        Hold(machine, press, 0.5);
        machine.Done(new StopCommand(machine.Axes("gantry")));
        press = Press(machine, "gantry", positive: true);
        machine.Run(0.2);
        Assert.Equal(Refusal.StopLocked, SupervisedMachine.Ended(press.Ticket).Refusal);
    }

    [Fact]
    public void Jog_EnablingInput_IsHeldClosedAndItsOpeningHalts()
    {
        var demo = SimulatedWorld.DemoMachine();
        var gantry = demo.Axes.Single(axis => axis.Name == "gantry");
        var button = demo.Interlocks.Single(interlock => interlock.Name == "vacuum").Inputs[0];
        var world = demo with
        {
            Axes = [.. demo.Axes.Select(axis => axis == gantry ? axis with { EnablingInput = button with { Text = "drum.input2", Bit = new("digitalInputs", 1, false) } } : axis)],
        };
        var machine = Working(57, world);
        machine.World.Drive("drum").SetInput("input2", false);
        machine.Run(0.2);
        var refused = Press(machine, "gantry", positive: true);
        machine.Run(0.2);
        Assert.Equal(Refusal.EnablingInputOpen, SupervisedMachine.Ended(refused.Ticket).Refusal);
        Assert.Contains("drum.input2", SupervisedMachine.Ended(refused.Ticket).Message, StringComparison.Ordinal);

        machine.World.Drive("drum").SetInput("input2", true);
        machine.Run(0.2);
        var press = Press(machine, "gantry", positive: true);
        Hold(machine, press, 0.5);
        Assert.Equal(AxisState.Moving, machine.State("gantry"));
        machine.World.Drive("drum").SetInput("input2", false);
        Hold(machine, press, 0.6);
        Assert.Equal(AxisState.Ready, machine.State("gantry"));
        Assert.Equal(Refusal.EnablingInputOpen, SupervisedMachine.Ended(press.Ticket).Refusal);

        // Closing it again lets nobody's old press move.
        machine.World.Drive("drum").SetInput("input2", true);
        Hold(machine, press, 0.5);
        Assert.Equal(AxisState.Ready, machine.State("gantry"));
    }

    [Fact]
    public void Jog_GuardOpens_StopsByItsCategory()
    {
        var machine = Working(58);
        var press = Press(machine, "gantry", positive: true);
        Hold(machine, press, 0.5);
        machine.World.Drive("gantry").SetInput("input1", false);
        Hold(machine, press, 1);
        Assert.Equal(AxisState.Disabled, machine.State("gantry"));
        Assert.Equal(Refusal.InterlockTripped, SupervisedMachine.Ended(press.Ticket).Refusal);
    }

    [Fact]
    public void Jog_EndlessAxis_TurnsOnAndOn()
    {
        var machine = Working(59);
        var before = machine.World.Drive("drum").CountedPosition;
        var press = machine.Control.Jog(new JogCommand(machine.World.Axis("drum"), false, 360), machine.Grant);
        Hold(machine, press, 3);
        Assert.Equal(AxisState.Moving, machine.State("drum"));
        Assert.True(Math.Abs(machine.World.Drive("drum").CountedPosition - before) > 2 * 36_000);
    }

    private static JogPress Press(SupervisedMachine machine, string axis, bool positive) =>
        machine.Control.Jog(new JogCommand(machine.World.Axis(axis), positive, null), machine.Grant);

    private static void Hold(SupervisedMachine machine, JogPress press, double seconds)
    {
        for (var left = seconds; left > 0; left -= 0.08)
        {
            press.Refresh();
            machine.Run(0.08);
        }
    }

    private static SupervisedMachine Working(ulong seed, Configuration.Machines.MachineDefinition? definition = null)
    {
        var machine = new SupervisedMachine(definition ?? SimulatedWorld.DemoMachine(), seed);
        machine.StartUp();
        machine.Done(new HomeCommand([]));
        machine.Done(new EnableCommand(machine.Axes("tray", "drum")));
        machine.Done(machine.Move("gantry", 100));
        return machine;
    }
}

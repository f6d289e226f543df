using Supervisor.Machine;
using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Coordination;

/// <summary>The demo machine as its people meet it, from switching on to the end of a shift.</summary>
public sealed class WholeMachineTests
{
    [Fact]
    public void Shift_FromSwitchingOnToShutDown_GoesInOrder()
    {
        var machine = new SupervisedMachine(SimulatedWorld.DemoMachine(), 21);
        machine.StartUp();

        machine.Done(new HomeCommand([]));
        Assert.Equal(AxisState.Ready, machine.State("dibber"));
        Assert.Equal(AxisState.Ready, machine.State("gantry"));
        machine.Done(new EnableCommand(machine.Axes("tray", "drum")));
        machine.Done(new MoveCommand([new MoveTarget(0, 320, true), new MoveTarget(1, 410, false), new MoveTarget(3, 90, true)], null));
        machine.Done(new ContactCommand(machine.World.Axis("dibber"), 60, 20, 30));
        machine.Done(machine.Move("dibber", 0));

        var refused = machine.Do(machine.Move("dibber", 999_999));
        Assert.Equal(Refusal.PositionLimit, refused.Refusal);
        Assert.Contains("180", refused.Message, StringComparison.Ordinal);

        machine.Coordinator.BeginShutDown(machine.World.Queue.Now);
        machine.RunUntil(() => machine.World.Plant.Drives.All(drive => !drive.Plant.Powered), 5, "torque off everywhere");
        machine.RunUntil(() => machine.Coordinator.ShutDown.IsStopped, 5, "shut-down told complete");
        Assert.Equal(Refusal.ShuttingDown, machine.Do(machine.Move("dibber", 10)).Refusal);
        Assert.Empty(machine.Journal.Faults);
    }

    [Fact]
    public void SwitchingOn_WithOneDriveOfAGroupMissing_EnergisesNoneOfTheGroupBeforeItIsThere()
    {
        // The dibber's line is not plugged in; the gantry carries it, and both stop together.
        var machine = new SupervisedMachine(SimulatedWorld.DemoMachine(), 23);
        machine.World.Ports[1].IsUnplugged = true;
        machine.RunUntil(() => machine.Axis("gantry").Online, 10, "the gantry met");
        machine.PressReset();
        machine.Grant = machine.Control.TryAcquire("a person", out _);

        var refused = machine.Do(new EnableCommand(machine.Axes("gantry")));
        Assert.Equal(Refusal.AxisOffline, refused.Refusal);
        Assert.Contains("dibber of its group head", refused.Message, StringComparison.Ordinal);
        Assert.Equal(Refusal.AxisOffline, machine.Do(new HomeCommand(machine.Axes("gantry"))).Refusal);
        Assert.False(machine.World.Drive("gantry").Plant.Powered);
        machine.Done(new EnableCommand(machine.Axes("tray")));

        machine.World.Ports[1].IsUnplugged = false;
        machine.RunUntil(() => machine.Axis("dibber") is { Online: true, State: AxisState.Disabled }, 10, "the dibber met and stopped");
        machine.Done(new HomeCommand([]));
        Assert.Equal((AxisState.Ready, AxisState.Ready), (machine.State("gantry"), machine.State("dibber")));
    }

    [Fact]
    public void Guard_OpenedInAMove_StopsRefusesAndNeedsButtonThenCommand()
    {
        var machine = Working(22);
        var move = machine.Control.Submit(machine.Move("gantry", 800), machine.Grant);
        machine.Run(0.8);
        machine.World.Drive("gantry").SetInput("input1", false);
        machine.RunUntil(() => move.Completion.IsCompleted && machine.State("gantry") == AxisState.Disabled, 5, "stopped and off");
        Assert.Equal(Refusal.InterlockTripped, SupervisedMachine.Ended(move).Refusal);
        Assert.Contains("front guard", SupervisedMachine.Ended(move).Message, StringComparison.Ordinal);

        // Open: named. Closed but not reset: refused all the same, with where the button is.
        var whileOpen = machine.Do(new EnableCommand(machine.Axes("gantry")));
        Assert.Equal(Refusal.InterlockOpen, whileOpen.Refusal);
        Assert.Contains("front guard", whileOpen.Message, StringComparison.Ordinal);
        machine.World.Drive("gantry").SetInput("input1", true);
        machine.Run(1);
        var notReset = machine.Do(new EnableCommand(machine.Axes("gantry")));
        Assert.Equal(Refusal.InterlockNeedsReset, notReset.Refusal);
        Assert.Contains("tray.input3", notReset.Message, StringComparison.Ordinal);
        Assert.Equal(Outcome.Refused, machine.Do(new ResetCommand([])).Outcome);

        machine.PressReset();
        machine.Run(2);
        Assert.Equal(AxisState.Disabled, machine.State("gantry"));
        machine.Done(new EnableCommand(machine.Axes("gantry", "dibber")));
        machine.Done(machine.Move("gantry", 10));
        Assert.Equal(
            [InterlockChange.Opened, InterlockChange.Closed, InterlockChange.Reset],
            machine.Journal.Interlocks.Where(entry => entry.Interlock == 1).Select(entry => entry.Change).TakeLast(3));
    }

    [Fact]
    public void Unplug_OfTheDibbersLine_RecoversAsTheFileSays()
    {
        var machine = Working(23);
        machine.World.Ports[1].IsUnplugged = true;
        machine.RunUntil(() => machine.State("dibber") == AxisState.Faulted, 3, "dibber faulted");
        machine.Run(2);
        Assert.Contains(machine.Journal.Faults, fault => fault.Code == FaultCode.LinkLost);
        machine.World.Ports[1].IsUnplugged = false;
        machine.RunUntil(() => machine.State("dibber") == AxisState.Ready, 30, "dibber homed again by itself");
        Assert.True(machine.Axis("dibber").Referenced);
        Assert.NotEmpty(machine.Journal.Recoveries);
        machine.Done(machine.Move("gantry", 100));
        machine.Done(machine.Move("dibber", 20));
    }

    [Fact]
    public void Unplug_OfTheLineWithTheInterlocks_WaitsForAPersonAtTheButton()
    {
        var machine = Working(24);
        machine.World.Ports[0].IsUnplugged = true;
        machine.RunUntil(() => machine.State("dibber") == AxisState.Disabled, 5, "silent inputs count as open");
        machine.Run(1);
        machine.World.Ports[0].IsUnplugged = false;
        machine.RunUntil(() => machine.Control.Status().Axes.All(axis => axis.Online), 10, "met again");
        machine.Run(5);
        Assert.All(machine.Control.Status().Axes, axis => Assert.NotEqual(AxisState.Ready, axis.State));
        Assert.False(machine.Control.Status().MotionPermitted);
    }

    [Fact]
    public void Authority_Lost_StopsWhatItsHolderMoved()
    {
        var machine = Working(25);
        var move = machine.Control.Submit(machine.Move("gantry", 800), machine.Grant);
        machine.RunUntil(() => machine.Axis("gantry").Velocity > 200, 3, "at speed");
        machine.Grant!.Dispose();
        machine.RunUntil(() => machine.State("gantry") == AxisState.Ready, 3, "stands");
        Assert.Equal(Outcome.Replaced, SupervisedMachine.Ended(move).Outcome);
        Assert.Equal(Refusal.NoAuthority, machine.Do(machine.Move("gantry", 0)).Refusal);
        Assert.NotNull(machine.Control.TryAcquire("another", out _));
    }

    [Fact]
    public void DriveFault_InAGroup_StopsTheGroupAndIsResetByCommand()
    {
        var machine = Working(26);
        var move = machine.Control.Submit(machine.Move("gantry", 800), machine.Grant);
        machine.RunUntil(() => machine.Axis("gantry").Velocity > 200, 3, "at speed");
        machine.World.Drive("dibber").Trip(0x4310);
        machine.RunUntil(() => machine.State("gantry") == AxisState.Ready && move.Completion.IsCompleted, 3, "gantry stopped");
        Assert.Equal(FaultCode.OverTemperature, machine.Axis("dibber").Fault);
        Assert.Equal(0x4310, machine.Axis("dibber").DriveCode);
        Assert.Contains("dibber", machine.Do(machine.Move("gantry", 0)).Message, StringComparison.Ordinal);
        machine.Done(new ResetCommand(machine.Axes("dibber")));
        machine.Done(new EnableCommand(machine.Axes("dibber")));
        machine.Done(machine.Move("gantry", 0));
    }

    private static SupervisedMachine Working(ulong seed)
    {
        var machine = new SupervisedMachine(SimulatedWorld.DemoMachine(), seed);
        machine.StartUp();
        machine.Done(new HomeCommand([]));
        machine.Done(new EnableCommand(machine.Axes("tray", "drum")));
        return machine;
    }
}

using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Commands;

public sealed class ReadinessTests
{
    [Fact]
    public void Enable_UnreferencedAxis_IsRefusedWithWhatToDo()
    {
        var rig = MachineRig.Started();
        MachineRig.AssertRefused(rig.Do(new EnableCommand([Tray, Dibber])), Refusal.NotReferenced, "dibber", "home it");
        Assert.Empty(rig.Axis(Tray).Taken);
    }

    [Fact]
    public void Enable_AxisThatNeedsNoReference_IsDoneOnceReady()
    {
        var rig = MachineRig.Started();
        Assert.Equal(Outcome.Done, rig.Do(new EnableCommand([Tray])).Outcome);
        Assert.Equal(AxisState.Ready, rig.Axis(Tray).Now.State);
    }

    [Fact]
    public void Enable_AxisThatIsReady_IsDoneWithoutBotheringIt()
    {
        var rig = MachineRig.Ready();
        Assert.Equal(Outcome.Done, rig.Do(new EnableCommand([Tray, Dibber])).Outcome);
        Assert.Empty(rig.Axis(Tray).Taken);
    }

    [Fact]
    public void Enable_WhileBeingDisabled_IsRefused()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Tray).StepsPerCommand = int.MaxValue;
        rig.Submit(new DisableCommand([Tray]));
        MachineRig.AssertRefused(rig.Do(new EnableCommand([Tray])), Refusal.AxisBusy, "tray", "being disabled");
    }

    [Fact]
    public void Enable_UnderAnOpenCategory1Interlock_IsRefused_UnderCategory2Taken()
    {
        var rig = MachineRig.Started();
        rig.Set("drum.input1", false);
        rig.Run(600);
        Assert.Equal(Outcome.Done, rig.Do(new EnableCommand([Drum])).Outcome);
        MachineRig.AssertRefused(rig.Do(new MoveCommand([new(Drum, 1, false)], null)), Refusal.InterlockOpen, "drum", "vacuum", "drum.input1");

        rig.SetAndSee("tray.input1", false);
        MachineRig.AssertRefused(rig.Do(new EnableCommand([Tray])), Refusal.InterlockOpen, "tray", "emergency stop", "tray.input1");
    }

    [Fact]
    public void Disable_UnderAnOpenGuard_IsTaken()
    {
        var rig = MachineRig.Ready(Seeder(interlocks: all => [all[0], all[1] with { StopCategory = 2 }, all[2]]));
        rig.SetAndSee("gantry.input1", false);
        Assert.Equal(AxisState.Ready, rig.Axis(Gantry).Now.State);
        Assert.Equal(Outcome.Done, rig.Do(new DisableCommand([Gantry])).Outcome);
        Assert.Equal(AxisState.Disabled, rig.Axis(Gantry).Now.State);
    }

    [Fact]
    public void Disable_AxisThatIsOff_IsDoneAtOnce()
    {
        var rig = MachineRig.Started();
        Assert.Equal(Outcome.Done, rig.Do(new DisableCommand([Tray])).Outcome);
        Assert.Empty(rig.Axis(Tray).Taken);
    }

    [Fact]
    public void Disable_AxisThatIsOnItsWayOff_WaitsAndCommandsNothing()
    {
        var rig = MachineRig.Ready();
        (rig.Axis(Tray).Now.State, rig.Axis(Tray).Now.Detail) = (AxisState.Disabled, AxisDetail.Deenergising);
        rig.Step();
        var ticket = rig.Submit(new DisableCommand([Tray, Drum]));
        rig.Run(100);
        Assert.False(ticket.Completion.IsCompleted);

        (rig.Axis(Tray).Now.TorqueOn, rig.Axis(Tray).Now.Detail) = (false, AxisDetail.None);
        rig.Step(2);
        Assert.Equal(Outcome.Done, MachineRig.Answer(ticket).Outcome);
        Assert.Empty(rig.Axis(Tray).Taken);
        Assert.Equal(AxisState.Disabled, rig.Axis(Drum).Now.State);
    }

    /// <summary>A stop took an enabling away while the drive was about to give torque: none is shown yet, and some may come.</summary>
    [Fact]
    public void Disable_AxisThatShowsNoTorqueYetOnItsWayOff_WaitsForTheEndOfThatWay()
    {
        var rig = MachineRig.Started();
        (rig.Axis(Tray).Now.State, rig.Axis(Tray).Now.Detail, rig.Axis(Tray).Now.TorqueOn) = (AxisState.Disabled, AxisDetail.Deenergising, false);
        rig.Step();
        var ticket = rig.Submit(new DisableCommand([Tray]));
        rig.Step(5);
        Assert.False(ticket.Completion.IsCompleted);
        rig.Axis(Tray).Now.Detail = AxisDetail.None;
        rig.Step(2);
        Assert.Equal(Outcome.Done, MachineRig.Answer(ticket).Outcome);
        Assert.Empty(rig.Axis(Tray).Taken);
    }

    [Fact]
    public void Disable_TorqueThatNeverGoesOff_FailsAsStopFailed()
    {
        var rig = MachineRig.Ready();
        (rig.Axis(Tray).Now.State, rig.Axis(Tray).Now.Detail) = (AxisState.Faulted, AxisDetail.Stopping);
        rig.Step();
        var answer = rig.Do(new DisableCommand([Tray]), withinMs: 20_000);
        Assert.Equal((Outcome.Failed, FaultCode.StopFailed), (answer.Outcome, answer.Fault));
        Assert.Contains("tray", answer.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Contact_AboveTheContactTorque_IsRefusedWithBoth()
    {
        var rig = MachineRig.Ready();
        MachineRig.AssertRefused(rig.Do(new ContactCommand(Dibber, 60, 26, 30)), Refusal.TorqueLimit, "dibber", "26 %", "25 %");
        MachineRig.AssertRefused(rig.Do(new ContactCommand(Dibber, 60, 0, 30)), Refusal.InvalidArgument, "dibber", "0 %");
        MachineRig.AssertRefused(rig.Do(new ContactCommand(Dibber, 181, 20, 30)), Refusal.PositionLimit, "181 mm", "180 mm");
        MachineRig.AssertRefused(rig.Do(new ContactCommand(Dibber, 60, 20, 300)), Refusal.VelocityLimit, "300 mm/s", "250 mm/s");
    }

    [Fact]
    public void Contact_Done_TellsTheContactPosition()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Dibber).StepsPerCommand = int.MaxValue;
        var ticket = rig.Submit(new ContactCommand(Dibber, 60, 20, 30));
        rig.Step(2);
        rig.PortOf(Dibber).Finish(Dibber, value: 41.5);
        rig.Step();
        var taken = Assert.Single(rig.Axis(Dibber).Taken);
        Assert.Equal((AxisCommandKind.Contact, 60, 20, 30), (taken.Kind, taken.Target, taken.Torque, taken.Velocity));
        Assert.Equal((Outcome.Done, 41.5), MachineRig.Answer(ticket) is var answer ? (answer.Outcome, answer.Value!.Value) : default);
    }

    [Fact]
    public void Contact_OfADriveWithoutTorqueLimit_IsRefused()
    {
        var machine = Seeder();
        machine = machine with { Axes = [.. machine.Axes.Select(axis => axis with { Drive = axis.Drive with { Command = [] } })] };
        var rig = MachineRig.Ready(machine);
        MachineRig.AssertRefused(rig.Do(new ContactCommand(Dibber, 60, 20, 30)), Refusal.NotSupportedByDrive, "dibber", "torqueLimit");
    }

    [Fact]
    public void SetOutput_IsGivenByIndex_AndAnUnknownNameRefusedWithTheKnownOnes()
    {
        var rig = MachineRig.Ready();
        Assert.Equal(Outcome.Done, rig.Do(new SetOutputCommand(Drum, "valve", true)).Outcome);
        var taken = Assert.Single(rig.Axis(Drum).Taken);
        Assert.Equal((AxisCommandKind.SetOutput, 1, 1), (taken.Kind, taken.Target, taken.Torque));
        MachineRig.AssertRefused(rig.Do(new SetOutputCommand(Drum, "horn", true)), Refusal.InvalidArgument, "drum", "horn", "lamp and valve");
    }

    [Fact]
    public void SetOutput_DuringAMove_LeavesTheMoveAlone()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Drum).StepsPerCommand = int.MaxValue;
        var move = rig.Submit(new MoveCommand([new(Drum, 10, false)], null));
        rig.Step(3);
        Assert.Equal(Outcome.Done, rig.Do(new SetOutputCommand(Drum, "lamp", false)).Outcome);
        Assert.False(move.Completion.IsCompleted);
        rig.PortOf(Drum).Finish(Drum);
        rig.Step();
        Assert.Equal(Outcome.Done, MachineRig.Answer(move).Outcome);
    }
}

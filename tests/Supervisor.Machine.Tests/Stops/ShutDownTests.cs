using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Stops;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Stops;

public sealed class ShutDownTests
{
    [Fact]
    public void BeginShutDown_TripsTheLatchAtOnce_AndRefusesWhatComes()
    {
        var rig = MachineRig.Ready();
        rig.Coordinator.BeginShutDown(rig.Now);
        Assert.True(rig.Board.Latch.IsStanding(StopCauses.ShutDown));
        MachineRig.AssertRefused(rig.Do(new MoveCommand([new(Drum, 1, false)], null)), Refusal.ShuttingDown, "shutting down");
        Assert.Null(rig.Control.TryAcquire("another", out var refusal));
        Assert.Equal(Refusal.ShuttingDown, refusal!.Refusal);
    }

    [Fact]
    public void BeginShutDown_EndsWhatRuns_AndIsStoppedOnceTorqueIsOff()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Drum).StepsPerCommand = int.MaxValue;
        rig.Axis(Tray).ObeysStops = false;
        var move = rig.Submit(new MoveCommand([new(Drum, 10, false)], null));
        rig.Step(3);
        rig.Coordinator.BeginShutDown(rig.Now);
        rig.Run(100);
        Assert.Equal(Outcome.Replaced, MachineRig.Answer(move).Outcome);
        Assert.False(rig.Coordinator.ShutDown.IsStopped);
        Assert.Contains("shut-down", rig.Control.Status().Axes[Drum].InhibitedBy);

        rig.Axis(Tray).ObeysStops = true;
        rig.Step(2);
        Assert.True(rig.Coordinator.ShutDown is { IsStopped: true, IsOverdue: false });
    }

    [Fact]
    public void ShutDown_AxisThatKeepsTorque_IsNamedAfterTheDeadline()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Dibber).ObeysStops = false;
        rig.Coordinator.BeginShutDown(rig.Now);
        rig.Run(5000);
        Assert.True(rig.Coordinator.ShutDown is { IsStopped: false, IsOverdue: true });
        Assert.Equal(["dibber"], rig.Coordinator.ShutDown.NotStopped);
    }

    [Fact]
    public void ShutDown_OfADeadPort_IsNotTakenForStopped()
    {
        var rig = MachineRig.Started();
        rig.Ports[1].Steps = false;
        rig.Coordinator.BeginShutDown(rig.Now);
        rig.Run(5000);
        Assert.Equal(["dibber", "drum"], rig.Coordinator.ShutDown.NotStopped);
    }

    [Fact]
    public void ShutDown_AxisThatDoesNotAnswer_HoldsNothingUp()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Drum).Now.Online = false;
        rig.Step();
        rig.Coordinator.BeginShutDown(rig.Now);
        rig.Step(3);
        Assert.True(rig.Coordinator.ShutDown.IsStopped);
    }

    [Fact]
    public void Close_EndsEverythingThatIsLeft()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Drum).StepsPerCommand = int.MaxValue;
        rig.Axis(Tray).ObeysStops = false;
        var move = rig.Submit(new MoveCommand([new(Drum, 10, false)], null));
        rig.Step(2);
        var queued = rig.Submit(new MoveCommand([new(Drum, 10, false)], null));
        var stop = rig.Submit(new StopCommand([Tray]));
        rig.Coordinator.Close();
        var late = rig.Submit(new MoveCommand([new(Drum, 10, false)], null));
        var lateStop = rig.Submit(new StopCommand([]));

        Assert.All([move, queued, stop, late, lateStop], ticket => Assert.Equal(Refusal.ShuttingDown, MachineRig.Answer(ticket).Refusal));

        // A stop is accepted when it is given: it may fail, but not be refused any more.
        Assert.All([stop, lateStop], ticket => Assert.Equal(Outcome.Failed, MachineRig.Answer(ticket).Outcome));
    }
}

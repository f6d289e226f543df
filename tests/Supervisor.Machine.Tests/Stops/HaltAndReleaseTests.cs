using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Stops;

public sealed class HaltAndReleaseTests
{
    [Fact]
    public void Stop_LocksTheAxis_AndNamesWhoStoppedItUntilItIsReleased()
    {
        var rig = MachineRig.Ready();
        rig.Control.Submit(new StopCommand([Drum], "line leader"), null);
        rig.Step(3);
        Assert.True(rig.Control.Status().Axes[Drum].StopLocked);
        MachineRig.AssertRefused(rig.Do(Move(Drum)), Refusal.StopLocked, "drum", "line leader", "release");
        Assert.Equal(Outcome.Done, rig.Do(Move(Tray)).Outcome);

        Assert.Equal(Outcome.Done, rig.Do(new ReleaseCommand([Drum])).Outcome);
        Assert.Equal(Outcome.Done, rig.Do(Move(Drum)).Outcome);
    }

    [Fact]
    public void Stop_LeavesEnableDisableAndResetToPeople()
    {
        var rig = MachineRig.Ready();
        rig.Do(new StopCommand([]));
        Assert.Equal(Outcome.Done, rig.Do(new DisableCommand([Drum])).Outcome);
        Assert.Equal(Outcome.Done, rig.Do(new EnableCommand([Drum])).Outcome);
        rig.PortOf(Drum).Fault(Drum, FaultCode.FollowingError);
        rig.Step();
        Assert.Equal(Outcome.Done, rig.Do(new ResetCommand([Drum])).Outcome);
        MachineRig.AssertRefused(rig.Do(new HomeCommand([Dibber])), Refusal.StopLocked, "dibber");
        MachineRig.AssertRefused(rig.Do(new ContactCommand(Dibber, 100, 20, 30)), Refusal.StopLocked, "dibber");
    }

    [Fact]
    public void Halt_NeedsNoAuthority_AndAMoveMayFollowAtOnce()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Drum).StepsPerCommand = int.MaxValue;
        var move = rig.Submit(Move(Drum));
        rig.Step(3);
        var halt = rig.Control.Submit(new HaltCommand([Drum]), null);
        rig.Step(3);
        Assert.Equal(Outcome.Done, MachineRig.Answer(halt).Outcome);
        Assert.Equal(Outcome.Replaced, MachineRig.Answer(move).Outcome);
        rig.Axis(Drum).StepsPerCommand = 2;
        Assert.Equal(Outcome.Done, rig.Do(Move(Drum)).Outcome);
    }

    [Fact]
    public void Release_NeedsAuthority()
    {
        var rig = MachineRig.Ready();
        rig.Do(new StopCommand([Drum]));
        var release = rig.Control.Submit(new ReleaseCommand([Drum]), null);
        rig.Step(3);
        MachineRig.AssertRefused(MachineRig.Answer(release), Refusal.AuthorityHeldByAnother, "operator");
        Assert.True(rig.Board.Latch.IsLocked(Drum));
    }

    [Fact]
    public void Release_GivenBeforeASecondStop_LeavesTheAxisLocked()
    {
        var rig = MachineRig.Ready();
        rig.Do(new StopCommand([Drum]));
        rig.Submit(new ReleaseCommand([Drum]));
        rig.Submit(new StopCommand([Drum]));
        rig.Step(5);
        Assert.True(rig.Board.Latch.IsLocked(Drum));
        MachineRig.AssertRefused(rig.Do(Move(Drum)), Refusal.StopLocked, "drum");
    }

    [Fact]
    public void AuthorityLost_HaltsAndDoesNotLock()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Drum).StepsPerCommand = int.MaxValue;
        rig.Submit(Move(Drum));
        rig.Step(3);
        rig.Grant!.Dispose();
        rig.Step(3);
        Assert.Equal(1, rig.Board.Latch.StopEpoch(Drum));
        Assert.False(rig.Board.Latch.IsLocked(Drum));
    }

    private static MoveCommand Move(int axis) => new([new(axis, 10, false)], null);
}

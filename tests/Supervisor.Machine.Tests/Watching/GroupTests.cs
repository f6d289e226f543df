using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Watching;

public sealed class GroupTests
{
    [Fact]
    public void Group_StandsWhileAMemberIsFaulted_AndIsLetGoAfterItsReset()
    {
        var rig = MachineRig.Ready();
        rig.PortOf(Dibber).Fault(Dibber, FaultCode.FollowingError);
        rig.Run(50);
        Assert.Equal(["group head (dibber is faulted)"], rig.Control.Status().Axes[Gantry].InhibitedBy);

        rig.Do(new ResetCommand([Dibber]));
        rig.Step();
        Assert.Empty(rig.Control.Status().Axes[Gantry].InhibitedBy);
        Assert.Equal(Outcome.Done, rig.Do(new MoveCommand([new(Gantry, 10, false)], null)).Outcome);
    }

    [Fact]
    public void Group_TrippedBeforeItsFaultShows_IsNotLetGoTooEarly()
    {
        var rig = MachineRig.Ready();
        rig.Board.Latch.Trip(rig.Board.Causes.Group(0));
        rig.Run(400);
        Assert.True(rig.Board.Latch.IsStanding(rig.Board.Causes.Group(0)));
        rig.Run(200);
        Assert.False(rig.Board.Latch.IsStanding(rig.Board.Causes.Group(0)));
    }

    [Fact]
    public void Group_WithAMemberThatNeverCame_IsNeitherEnergisedNorHomedUntilItIsThere()
    {
        var rig = MachineRig.Started();
        rig.Axis(Dibber).Now.Online = false;
        rig.Run(50);
        string[] words = ["gantry is held", "dibber of its group head", "check"];
        MachineRig.AssertRefused(rig.Do(new EnableCommand([Gantry])), Refusal.AxisOffline, words);
        MachineRig.AssertRefused(rig.Do(new HomeCommand([Gantry], Confirmed: true)), Refusal.AxisOffline, words);

        // Who is of no group is not held.
        Assert.Equal(Outcome.Done, rig.Do(new EnableCommand([Tray])).Outcome);
        rig.Axis(Dibber).Now.Online = true;
        rig.Run(50);
        Assert.Equal(Outcome.Done, rig.Do(new HomeCommand([Dibber])).Outcome);
        Assert.Equal(Outcome.Done, rig.Do(new HomeCommand([Gantry])).Outcome);
    }

    [Fact]
    public void Group_WithTwoFaultedMembers_WaitsForBoth()
    {
        var rig = MachineRig.Ready();
        rig.PortOf(Dibber).Fault(Dibber, FaultCode.FollowingError);
        rig.PortOf(Gantry).Fault(Gantry, FaultCode.FollowingError);
        rig.Step();
        rig.Do(new ResetCommand([Dibber]));
        rig.Run(1000);
        Assert.True(rig.Board.Latch.IsStanding(rig.Board.Causes.Group(0)));
        rig.Do(new ResetCommand([Gantry]));
        rig.Step();
        Assert.False(rig.Board.Latch.IsStanding(rig.Board.Causes.Group(0)));
    }
}

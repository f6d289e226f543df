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

using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Recovery;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using static Supervisor.Machine.Tests.Recovery.Faulting;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Recovery;

/// <summary>An axis that did not follow and came back by itself goes slowly until it has passed that place or a person took it in hand.</summary>
public sealed class ReducedSpeedTests
{
    private const double Place = 40;
    private const double Target = 100;
    private static readonly RecoveryDefinition Rule =
        new([FaultClass.Following, FaultClass.Supply], 5, TimeSpan.FromMinutes(10), RecoveryAction.ResetAndEnable) { SpeedPercent = 20 };

    [Theory]
    [InlineData(null, 50)]
    [InlineData(30.0, 6)]
    public void Move_AfterTheRecovery_IsGivenTheFilesShareOfTheSpeed(double? asked, double given)
    {
        var rig = Recovered();
        rig.Do(Move(40.1) with { Velocity = asked });

        Assert.Equal(given, Last(rig).Velocity, 9);
        Assert.Equal(20, rig.Control.Status().Axes[Dibber].SpeedPercent);
        Assert.Equal(100, rig.Control.Status().Axes[Gantry].SpeedPercent);
    }

    [Fact]
    public void ContactAndJog_AreSlowToo()
    {
        var rig = Recovered();
        rig.Do(new ContactCommand(Dibber, 40.1, 10, 10));
        Assert.Equal(2, Last(rig).Velocity, 9);

        rig.Submit(new JogCommand(Dibber, Positive: true, 10));
        rig.Run(50);
        Assert.Equal((AxisCommandKind.Jog, 2.0), (Last(rig).Kind, Last(rig).Velocity));
    }

    [Theory]
    [InlineData(Target, true, "where the failed move was to go")]
    [InlineData(60, true, "past the place, in the same direction")]
    [InlineData(40.1, false, "at the place")]
    [InlineData(10, false, "back")]
    public void Move_EndsTheReductionOnlyPastThePlace(double to, bool lifted, string what)
    {
        var rig = Recovered();
        rig.Do(Move(to));
        rig.Do(Move(to));

        Assert.True(lifted == (Last(rig).Velocity > 100), what);
    }

    [Fact]
    public void MoveFromBehindThePlace_EndsTheReductionWhenDone()
    {
        var rig = Recovered();
        rig.Do(Move(10));
        rig.Do(Move(30));
        Assert.Equal(50, Last(rig).Velocity, 9);
        rig.Do(Move(70));
        Assert.Equal(50, Last(rig).Velocity, 9);
        rig.Do(Move(10));
        Assert.Equal(250, Last(rig).Velocity, 9);
    }

    [Fact]
    public void MovesBeyondThePlace_ThatDoNotPassIt_EndNothing()
    {
        // The failed move went from 180 down to 0, and stuck at 40: what happens between 60 and 180 proves nothing.
        var rig = Recovered(target: 0);
        rig.Do(Move(60));
        rig.Do(Move(180));
        rig.Do(Move(60));
        Assert.Equal(50, Last(rig).Velocity, 9);
        rig.Do(Move(20));
        rig.Do(Move(60));
        Assert.Equal(250, Last(rig).Velocity, 9);
    }

    [Fact]
    public void HomingByAPerson_EndsIt()
    {
        var rig = Recovered();
        rig.Do(new HomeCommand([Dibber]));
        rig.Do(Move(60));

        Assert.Equal(250, Last(rig).Velocity, 9);
    }

    [Fact]
    public void ResetByAPerson_EndsIt()
    {
        var rig = Recovered();
        Fail(rig, Dibber, FaultCode.Encoder);
        rig.Do(new ResetCommand([Dibber]));
        rig.Do(new EnableCommand([Dibber]));
        rig.Do(Move(60));

        Assert.Equal(250, Last(rig).Velocity, 9);
    }

    /// <summary>An axis that has come back is not faulted any more; a person who knows that its way is clear says so by the same word.</summary>
    [Fact]
    public void ResetOfAnAxisThatIsOnlySlow_EndsIt()
    {
        var rig = Recovered();
        Assert.Equal(Outcome.Done, rig.Do(new ResetCommand([Dibber])).Outcome);
        Assert.Equal(100, rig.Control.Status().Axes[Dibber].SpeedPercent);
        Assert.Equal(Refusal.NotFaulted, rig.Do(new ResetCommand([Dibber])).Refusal);
    }

    [Fact]
    public void Restart_KeepsItUntilThePlaceIsPassed()
    {
        var rig = Restarted(Recovered());
        Assert.Equal(20, rig.Control.Status().Axes[Dibber].SpeedPercent);
        Assert.Equal(0, rig.Coordinator.SlowAxes[Dibber].Read().Version);
        rig.Do(Move(30));
        rig.Do(Move(20));
        Assert.Equal(50, Last(rig).Velocity, 9);
        rig.Do(Move(60));
        Assert.Equal(50, Last(rig).Velocity, 9);
        rig.Do(Move(20));
        Assert.Equal(250, Last(rig).Velocity, 9);
        Assert.Equal(0, rig.Coordinator.SlowAxes[Dibber].Read().Percent);
    }

    [Fact]
    public void Restart_StuckAtTheSamePlace_WaitsForAPerson()
    {
        var rig = Restarted(Recovered());
        (rig.Axis(Dibber).Now.State, rig.Axis(Dibber).Now.Position) = (AxisState.Moving, Place);
        Fail(rig, Dibber, FaultCode.FollowingError);
        rig.Run(10_000);
        AssertTold(rig, RecoveryChange.NotBegun);
    }

    [Fact]
    public void Restart_PlaceNotKnown_WaitsForAPerson()
    {
        var notes = Notes(Recovered());
        (notes[Dibber].Place, notes[Dibber].Target) = (double.NaN, double.NaN);
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [Rule]), notes);
        rig.Do(Move(150));
        rig.Do(Move(10));
        Assert.Equal(50, Last(rig).Velocity, 9);
        rig.Do(new ResetCommand([Dibber]));
        rig.Do(Move(60));
        Assert.Equal(250, Last(rig).Velocity, 9);
    }

    [Fact]
    public void Restart_FileNoLongerLetsItComeBack_IsFullSpeed()
    {
        var notes = Notes(Recovered());
        var rig = MachineRig.Ready(Seeder(), notes);
        Assert.Equal(100, rig.Control.Status().Axes[Dibber].SpeedPercent);
    }

    [Fact]
    public void RecoveryFromAnotherFault_LeavesItReduced()
    {
        var rig = Recovered();
        Fail(rig, Dibber, FaultCode.UnderVoltage);
        rig.Run(10_000);
        Assert.Equal(AxisState.Ready, rig.Axis(Dibber).Now.State);
        rig.Do(Move(60));

        Assert.Equal(50, Last(rig).Velocity, 9);
    }

    [Fact]
    public void RecoveryFromAnotherFault_ReducesNothing()
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [Rule]));
        Fail(rig, Dibber, FaultCode.UnderVoltage);
        rig.Run(10_000);
        rig.Do(Move(60));

        Assert.Equal(250, Last(rig).Velocity, 9);
    }

    [Fact]
    public void Begun_TellsTheSpeed()
    {
        var rig = Recovered();

        Assert.Contains("20 %", rig.Journal.Recoveries[0].What, StringComparison.Ordinal);
        AssertTold(rig, RecoveryChange.Begun, RecoveryChange.Succeeded);
    }

    /// <summary>The dibber stuck at 40 mm on its way, and came back by itself.</summary>
    private static MachineRig Recovered(double target = Target)
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [Rule]));
        ref var now = ref rig.Axis(Dibber).Now;
        (now.State, now.Position, now.Target) = (AxisState.Moving, Place, target);
        Fail(rig, Dibber, FaultCode.FollowingError);
        rig.Run(10_000);
        Assert.Equal(AxisState.Ready, rig.Axis(Dibber).Now.State);
        return rig;
    }

    /// <summary>What the next run would read.</summary>
    private static ReducedSpeedNote[] Notes(MachineRig rig) => [.. rig.Coordinator.SlowAxes.Select(cell => cell.Read() with { Version = 0 })];

    private static MachineRig Restarted(MachineRig rig)
    {
        var after = MachineRig.Ready(Seeder(dibberRecovery: [Rule]), Notes(rig));
        after.Axis(Dibber).Now.Position = Place;
        after.Run(50);
        return after;
    }

    private static MoveCommand Move(double to) => new([new MoveTarget(Dibber, to, false)], null);

    private static AxisCommand Last(MachineRig rig) => rig.Axis(Dibber).Taken[^1];
}

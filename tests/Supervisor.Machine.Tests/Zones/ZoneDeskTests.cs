using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Zones;

/// <summary>The spans of axes between what the coordinator gives and what the ports tell: gantry and dibber are never both beyond 100.</summary>
public sealed class ZoneDeskTests
{
    private static readonly MoveCommand GantryIn = new([new MoveTarget(Gantry, 300, false)], null);
    private static readonly MoveCommand DibberIn = new([new MoveTarget(Dibber, 150, false)], null);

    /// <summary>The first move is not even read by its port when the second is judged.</summary>
    [Fact]
    public void Move_WhileAnotherIsStillInItsMailbox_SeesItsWholeWay()
    {
        var rig = Rig();
        rig.PortOf(Gantry).ReadsMailbox = false;
        rig.Submit(GantryIn);
        rig.Step();
        MachineRig.AssertRefused(rig.Do(DibberIn), Refusal.ZoneNotClear, "hopper", "wait until gantry stands");
    }

    /// <summary>An end that was reported is not yet rest where the axis is told: the span shrinks once both say so.</summary>
    [Fact]
    public void Span_OfAnAxisThatStillMoves_DoesNotShrink()
    {
        var rig = Rig();
        ref var gantry = ref rig.Axis(Gantry).Now;
        (gantry.Moves, gantry.ReachUpper) = (true, 50);
        Assert.Equal(Outcome.Done, rig.Do(GantryIn).Outcome);
        rig.Step(2);
        MachineRig.AssertRefused(rig.Do(DibberIn), Refusal.ZoneNotClear, "wait until gantry stands");
        (gantry.Moves, gantry.ReachUpper) = (false, 0);
        rig.Step(2);
        Assert.Equal(Outcome.Done, rig.Do(DibberIn).Outcome);
    }

    /// <summary>Some noise of the velocity of an axis that holds its place is no motion.</summary>
    [Fact]
    public void Move_WhileAReadyAxisShowsSomeNoise_IsDone()
    {
        var rig = Rig();
        ref var gantry = ref rig.Axis(Gantry).Now;
        (gantry.AtRest, gantry.Velocity) = (false, 3);
        rig.Step(2);
        Assert.Equal(Outcome.Done, rig.Do(DibberIn).Outcome);
    }

    [Fact]
    public void Move_WhileAnotherIsOffline_IsRefused()
    {
        var rig = Rig();
        rig.Axis(Gantry).Now.Online = false;
        rig.Step(2);
        MachineRig.AssertRefused(rig.Do(DibberIn), Refusal.ZoneNotClear, "gantry does not answer");
    }

    [Fact]
    public void Move_WhileAnotherIsNotReferenced_IsRefused()
    {
        var rig = Rig();
        rig.Axis(Gantry).Now.Referenced = false;
        rig.Step(2);
        MachineRig.AssertRefused(rig.Do(DibberIn), Refusal.ZoneNotClear, "gantry is not referenced", "home gantry first");
    }

    /// <summary>An axis whose refusal of a move comes back has gone nowhere.</summary>
    [Fact]
    public void Span_AfterAMoveThatItsAxisRefused_IsAsBefore()
    {
        var rig = Rig();
        rig.Axis(Gantry).NextRefusal = Refusal.AxisBusy;
        Assert.Equal(Outcome.Refused, rig.Do(GantryIn).Outcome);
        rig.Step(2);
        Assert.Equal(Outcome.Done, rig.Do(DibberIn).Outcome);
    }

    // Without groups: a member that is missing would be the reason before any zone is looked at.
    private static MachineRig Rig() => MachineRig.Ready(Seeder() with
    {
        Groups = [],
        Axes = [.. Seeder().Axes.Select(axis => axis with { Group = null })],
        Zones = [new NeverBothZone("hopper", Gantry, new ZoneRange(100, 400), Dibber, new ZoneRange(100, 180))],
    });
}

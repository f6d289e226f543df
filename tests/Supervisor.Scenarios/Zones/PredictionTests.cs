using Supervisor.Machine.Api;
using Supervisor.Machine.Modes;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Zones;

/// <summary>What zones refuse before anything moves, with the sentence that tells what to move where.</summary>
public sealed class PredictionTests
{
    [Fact]
    public void Move_ToWhereTheDistanceIsKept_IsDone()
    {
        var machine = Rails.Apart(1);
        machine.Done(machine.Move("left", 500));
        machine.Done(machine.Move("right", 420));
        Assert.Equal(80, Rails.RightZero - machine.World.Drive("right").Plant.Position - machine.World.Drive("left").Plant.Position, 0.5);
        Assert.Empty(machine.Journal.Faults);
    }

    [Fact]
    public void Move_NearerThanTheDistance_IsRefusedAndTellsHowFarItMayGo()
    {
        var machine = Rails.Apart(1);
        machine.Done(machine.Move("left", 500));
        AssertRefused(machine.Do(machine.Move("right", 421)), "zone rail: right would come nearer than 80 mm to left, which is at ", ": go no farther up than 4", ", or move left down first");
    }

    /// <summary>What moves counts with its whole way, also before it is there.</summary>
    [Fact]
    public void Move_OntoTheWayOfAnotherThatMoves_IsRefusedUntilThatStands()
    {
        var machine = Rails.Apart(1);
        var left = machine.Control.Submit(machine.Move("left", 600), machine.Grant);
        machine.Run(0.1);
        AssertRefused(machine.Do(machine.Move("right", 400)), "zone rail: right would come where left, which moves, may come too: wait until left stands");
        machine.RunUntil(() => left.Completion.IsCompleted, 10, "left has arrived");
        machine.Done(machine.Move("left", 100));
        machine.Done(machine.Move("right", 400));
    }

    [Fact]
    public void Moves_GivenInTheSameInstant_SeeEachOther()
    {
        var machine = Rails.Apart(1);
        var left = machine.Control.Submit(machine.Move("left", 700), machine.Grant);
        var right = machine.Control.Submit(machine.Move("right", 700), machine.Grant);
        machine.RunUntil(() => left.Completion.IsCompleted && right.Completion.IsCompleted, 20, "both have ended");
        Assert.Equal(Outcome.Done, SupervisedMachine.Ended(left).Outcome);
        Assert.Equal(Refusal.ZoneNotClear, SupervisedMachine.Ended(right).Refusal);
    }

    [Fact]
    public void Move_OfBothTogetherTowardsEachOther_IsRefusedWhole()
    {
        var machine = Rails.Apart(1);
        var both = new MoveCommand([new MoveTarget(machine.World.Axis("left"), 500, false), new MoveTarget(machine.World.Axis("right"), 500, false)], null);
        AssertRefused(machine.Do(both), "zone rail: left and right would move at the same time where they can meet: give the two motions one after the other");
        machine.Run(0.5);
        Assert.Equal(0, machine.Axis("left").Position, 0.2);
    }

    /// <summary>Relative and waiting moves go on from targets that are not reached yet.</summary>
    [Fact]
    public void Move_ThatWaitsAndGoesOnByADistance_CountsFromTheTargetBefore()
    {
        var machine = Rails.Apart(1);
        machine.Done(machine.Move("right", 300));
        machine.Control.Submit(machine.Move("left", 400), machine.Grant);
        machine.Run(0.1);
        AssertRefused(machine.Do(On(machine, 221)), "zone rail: left would come nearer");
        machine.Done(On(machine, 220));
        Assert.Equal(620, machine.Axis("left").Position, 0.2);

        static MoveCommand On(SupervisedMachine machine, double by) => new([new MoveTarget(machine.World.Axis("left"), by, true)], null) { AfterCurrent = true };
    }

    /// <summary>A gentler ramp that takes a fast move's place lets the axis run on beyond where it was going.</summary>
    [Fact]
    public void Move_ThatBrakesMoreGentlyThanTheOneItReplaces_CountsWithItsWayToStop()
    {
        var machine = Rails.Apart(1);
        machine.Done(machine.Move("right", 420));
        machine.Control.Submit(machine.Move("left", 490), machine.Grant);
        machine.RunUntil(() => machine.Axis("left").Velocity > 290, 5, "left is fast");

        // 300² / (2 · 200) - 300² / (2 · 2000) = 202.5 mm beyond 490.
        AssertRefused(machine.Do(machine.Move("left", 0) with { Deceleration = 200 }), "zone rail: left would come nearer");
        machine.Done(machine.Move("left", 0) with { Deceleration = 1900 });
    }

    [Fact]
    public void Move_ThroughARangeThatAnotherHolds_IsRefused()
    {
        var machine = Rails.Apart(1);
        machine.Done(machine.Move("arm", 150));
        AssertRefused(
            machine.Do(machine.Move("left", 500)),
            "zone crossing: left would come between 300 and 420 mm while arm is at 1", ": move arm out of 100 to 200 mm first");
        machine.Done(machine.Move("left", 300));
        AssertRefused(machine.Do(machine.Move("left", 301)), "zone crossing");
        machine.Done(machine.Move("arm", 200));
        machine.Done(machine.Move("left", 500));
    }

    [Fact]
    public void Move_WhileTheOtherAxisIsOutOfItsRange_IsRefusedAndThatOneMayReturn()
    {
        var machine = Rails.Apart(1);
        machine.Done(machine.Move("lift", 40));
        AssertRefused(
            machine.Do(machine.Move("right", 100)),
            "zone lift up: right moves only while lift is between 0 and 20 mm, and it is at ", ": move lift there first");
        machine.Done(machine.Move("lift", 20));
        var right = machine.Control.Submit(machine.Move("right", 300), machine.Grant);
        machine.Run(0.1);
        AssertRefused(machine.Do(machine.Move("lift", 21)), "zone lift up: lift must stay between 0 and 20 mm while right moves: wait until right stands");
        machine.Done(machine.Move("lift", 5));
        machine.RunUntil(() => right.Completion.IsCompleted, 10, "right has arrived");
        machine.Done(machine.Move("lift", 21));
    }

    [Fact]
    public void Jog_TowardsABorder_EndsThere()
    {
        var machine = Rails.Apart(1);
        machine.Done(machine.Move("right", 400));
        machine.Done(machine.Move("left", 480));
        var press = machine.Control.Jog(new JogCommand(machine.World.Axis("left"), true, 100), machine.Grant);
        for (var i = 0; i < 30 && !press.Ticket.Completion.IsCompleted; i++)
        {
            press.Refresh();
            machine.Run(0.08);
        }

        Assert.Equal(Outcome.Done, SupervisedMachine.Ended(press.Ticket).Outcome);
        Assert.Equal(520, machine.Axis("left").Position, 0.2);
        var again = machine.Control.Jog(new JogCommand(machine.World.Axis("left"), true, 100), machine.Grant);
        machine.Run(0.1);
        AssertRefused(SupervisedMachine.Ended(again.Ticket), "zone rail: left would come nearer than 80 mm to right, which is at ", ", or move right down first");
    }

    /// <summary>Axes that stand too near when the supervisor starts may be moved apart, and only apart.</summary>
    [Fact]
    public void Move_OfAxesThatStandTooNear_OnlyLeadsAway()
    {
        var machine = Near();
        var (left, right) = (machine.Axis("left").Position, machine.Axis("right").Position);
        AssertRefused(machine.Do(machine.Move("left", left + 1)), "zone rail");
        AssertRefused(machine.Do(machine.Move("right", right + 1)), "zone rail");
        machine.Done(machine.Move("left", left - 10));
        AssertRefused(machine.Do(machine.Move("left", left)), "zone rail");
        machine.Done(machine.Move("right", 0));
        Assert.Empty(machine.Journal.Faults);
    }

    [Fact]
    public void Home_OfAxesWhosePlacesAreNotKnown_NeedsAPersonAndEndsClear()
    {
        var machine = Rails.Started(3, Rails.Machine("\"reference\": \"incremental\""));
        var refused = machine.Do(new HomeCommand([]));
        Assert.Equal(Refusal.NeedsConfirmation, refused.Refusal);
        Assert.Contains("zone crossing: arm looks for its zero, and left is not referenced, so the two may meet: home left first, or look that it is out of the way and confirm (home --confirm)", refused.Message, StringComparison.Ordinal);
        machine.Done(new HomeCommand([], Confirmed: true), within: 120);
        Assert.All(machine.Control.Status().Axes, axis => Assert.True(axis.Referenced));
        Assert.All(machine.Control.Status().Zones, zone => Assert.True(zone.Clear, zone.WhatToDo));
    }

    /// <summary>A person vouches for what can't be known, not for what is known to stand in the way.</summary>
    [Fact]
    public void Home_TowardsWhatIsKnownToHoldAZone_IsRefusedAlsoWhenConfirmed()
    {
        var machine = Rails.Apart(1);
        machine.Done(machine.Move("arm", 150));
        AssertRefused(machine.Do(new HomeCommand(machine.Axes("left"), Confirmed: true)), "zone crossing: left would come between 300 and 420 mm while arm is at 1", ": move arm out of 100 to 200 mm first");
    }

    [Fact]
    public void Move_WhileTheOtherAxisIsNotReferenced_IsRefusedAndAPersonMayJogInMaintenance()
    {
        var machine = Rails.Started(3, Rails.Machine("\"reference\": \"incremental\""));
        machine.Done(new HomeCommand(machine.Axes("lift"), Confirmed: true));
        machine.Done(new HomeCommand(machine.Axes("left"), Confirmed: true));
        AssertRefused(machine.Do(machine.Move("left", 100)), "zone rail: left can't move: right is not referenced, so it may be anywhere: home right first");
        machine.Done(new ChooseModeCommand(MachineMode.Maintenance));
        var before = machine.Axis("left").Position;
        var press = machine.Control.Jog(new JogCommand(machine.World.Axis("left"), true, 30), machine.Grant);
        for (var i = 0; i < 10; i++)
        {
            press.Refresh();
            machine.Run(0.08);
        }

        Assert.True(machine.Axis("left").Position > before + 10);
        Assert.Empty(machine.Journal.Faults);
    }

    [Fact]
    public void Move_WhileTheOtherDriveIsSilent_IsRefused()
    {
        var machine = Rails.Apart(1);
        machine.World.Ports[1].IsUnplugged = true;
        machine.RunUntil(() => !machine.Axis("right").Online, 5, "line-b is lost");
        AssertRefused(machine.Do(machine.Move("left", 10)), "zone rail: left can't move: right does not answer");

        // Away from whoever may be anywhere is always free.
        machine.World.Ports[1].IsUnplugged = false;
        machine.RunUntil(() => machine.Axis("right").Online, 5, "line-b is back");
        machine.Run(1);
        machine.Done(machine.Move("left", 10));
        machine.World.Ports[1].IsUnplugged = true;
        machine.RunUntil(() => !machine.Axis("right").Online, 5, "line-b is lost again");
        machine.Done(machine.Move("left", 5));
    }

    [Fact]
    public void Status_TellsWhoHoldsWhatAndWhatToDo()
    {
        var machine = Rails.Apart(1);
        Assert.All(machine.Control.Status().Zones, zone => Assert.True(zone.Clear));
        machine.Done(machine.Move("arm", 150));
        machine.Done(machine.Move("lift", 40));
        machine.Run(0.1);
        var zones = machine.Control.Status().Zones;
        Assert.Equal(["rail", "crossing", "lift up"], zones.Select(zone => zone.Name));
        Assert.Equal([true, false, false], zones.Select(zone => zone.Clear));
        Assert.Equal(["arm"], zones[1].HeldBy);
        Assert.Equal("keep left out of 300 to 420 mm until arm stands outside of 100 to 200 mm", zones[1].WhatToDo);
        Assert.Equal(["lift"], zones[2].HeldBy);
        Assert.Equal("right moves only while lift is between 0 and 20 mm: move lift there before right", zones[2].WhatToDo);
    }

    /// <summary>A machine whose carriages happen to stand nearer than the zone permits when it is switched on.</summary>
    private static SupervisedMachine Near()
    {
        for (ulong seed = 1; seed < 200; seed++)
        {
            var machine = Rails.Started(seed);
            var apart = Rails.RightZero - machine.Axis("left").Position - machine.Axis("right").Position;
            var arm = machine.Axis("arm").Position;
            if (apart is > -300 and < 75 && (arm is < 90 or > 210))
            {
                machine.Done(new EnableCommand(machine.Axes("lift", "arm", "left", "right")));
                machine.Done(machine.Move("lift", 0));
                return machine;
            }
        }

        throw new InvalidOperationException("No seed puts them near to each other");
    }

    private static void AssertRefused(CommandAnswer answer, params string[] parts)
    {
        Assert.Equal((Outcome.Refused, Refusal.ZoneNotClear), (answer.Outcome, answer.Refusal));
        Assert.All(parts, part => Assert.Contains(part, answer.Message, StringComparison.Ordinal));
    }
}

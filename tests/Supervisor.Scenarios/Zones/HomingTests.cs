using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Zones;

/// <summary>Searches for a zero, which go where they find it, and what comes back by itself after a fault.</summary>
public sealed class HomingTests
{
    /// <summary>From a known place a stated farthest way proves that the search stays clear.</summary>
    [Fact]
    public void Home_WithAStatedDistance_NeedsNobodyWhereThatStaysClear()
    {
        var machine = Rails.Apart(1, Rails.Machine(homing: ", \"distanceLimit\": 150"));
        machine.Done(machine.Move("right", 400));
        machine.Done(machine.Move("left", 100));
        machine.Done(new HomeCommand(machine.Axes("left")));
        Assert.Equal(0, machine.Axis("left").Position, 0.5);
        Assert.Empty(machine.Journal.Faults);

        // 420 and 150 and what it needs to stop come nearer than 80 to 600.
        machine.Done(machine.Move("left", 420));
        Assert.Equal(Refusal.NeedsConfirmation, machine.Do(new HomeCommand(machine.Axes("left"))).Refusal);
    }

    [Fact]
    public void Home_WithoutAStatedDistance_CountsAsGoingAnywhere()
    {
        var machine = Rails.Apart(1);
        machine.Done(machine.Move("right", 400));
        Assert.Equal(Refusal.NeedsConfirmation, machine.Do(new HomeCommand(machine.Axes("left"))).Refusal);
        machine.Done(machine.Move("arm", 150));

        // What is known to be in the way is told before what a person may vouch for.
        Assert.Equal(Refusal.ZoneNotClear, machine.Do(new HomeCommand(machine.Axes("left"))).Refusal);
    }

    [Fact]
    public void Homing_HoldsEveryZoneOfItsAxisUntilItIsDone()
    {
        var machine = Rails.Apart(1);
        machine.Done(machine.Move("left", 200));
        var home = machine.Control.Submit(new HomeCommand(machine.Axes("left"), Confirmed: true), machine.Grant);
        machine.RunUntil(() => machine.State("left") == AxisState.Homing, 2, "left is homing");
        Assert.Equal(Refusal.ZoneNotClear, machine.Do(machine.Move("right", 50)).Refusal);
        Assert.Equal(Refusal.ZoneNotClear, machine.Do(machine.Move("arm", 150)).Refusal);
        Assert.Equal(["left"], machine.Control.Status().Zones[0].HeldBy);
        machine.RunUntil(() => home.Completion.IsCompleted, 30, "left is homed");
        machine.Run(0.1);
        machine.Done(machine.Move("right", 50));
        machine.Done(machine.Move("arm", 150));
    }

    /// <summary>A search that another axis would need to wait for is not begun while that one moves, whoever vouches.</summary>
    [Fact]
    public void Home_WhileTheOtherAxisMoves_IsRefusedAlsoWhenConfirmed()
    {
        var machine = Rails.Apart(1);
        machine.Control.Submit(machine.Move("right", 500), machine.Grant);
        machine.Run(0.2);
        Assert.Equal(Refusal.ZoneNotClear, machine.Do(new HomeCommand(machine.Axes("left"), Confirmed: true)).Refusal);
    }

    /// <summary>What comes back by itself after a fault asks the zones as everyone does, and nobody vouches for it.</summary>
    [Fact]
    public void Recovery_ThatWouldHomeIntoAZone_ResetsAndLeavesTheRestToAPerson()
    {
        const string Recovery = "\"reference\": \"incremental\", \"recovery\": [ { \"faults\": [\"drive\"], \"attempts\": 2, \"withinMs\": 60000, \"then\": \"resetAndHome\" } ]";
        var machine = Rails.Started(3, Rails.Machine(Recovery));
        machine.Done(new HomeCommand([], Confirmed: true), within: 120);
        machine.Done(machine.Move("left", 250));
        machine.World.Drive("left").Trip(0xFF01);
        machine.RunUntil(() => machine.Journal.Recoveries.Any(note => note.What.StartsWith("given up", StringComparison.Ordinal)), 60, "recovery gives up");
        Assert.Contains(machine.Journal.Recoveries, note => note.What.Contains("zone rail", StringComparison.Ordinal));
        Assert.Equal(250, machine.World.Drive("left").Plant.Position, 5.0);
        Assert.DoesNotContain(machine.Journal.Faults, fault => fault.Code is FaultCode.ZoneEntered or FaultCode.ZoneUnproven);
    }

    /// <summary>Both inside where only one may be when it is switched on: nobody moves them by a target, a person jogs one out.</summary>
    [Fact]
    public void Jog_OfOneOfTwoThatAreBothInside_LeadsOut()
    {
        var machine = BothInside();
        Assert.Equal(["left", "arm"], machine.Control.Status().Zones[1].HeldBy);
        var refused = machine.Do(machine.Move("arm", 0));
        Assert.Equal(Refusal.ZoneNotClear, refused.Refusal);
        Assert.Contains("zone crossing: arm and left are both inside where only one may be: look how they stand, then jog one of them out", refused.Message, StringComparison.Ordinal);
        var press = machine.Control.Jog(new JogCommand(machine.World.Axis("arm"), false, 100), machine.Grant);
        for (var i = 0; i < 60 && machine.Axis("arm").Position > 90; i++)
        {
            press.Refresh();
            machine.Run(0.08);
        }

        press.Release();
        machine.RunUntil(() => machine.State("arm") == AxisState.Ready, 2, "arm stands");
        machine.Run(0.1);
        Assert.Equal(["left"], machine.Control.Status().Zones[1].HeldBy);
        Assert.Equal(Refusal.ZoneNotClear, machine.Do(machine.Move("arm", 150)).Refusal);
        machine.Done(machine.Move("arm", 0));
        Assert.Empty(machine.Journal.Faults);
    }

    [Fact]
    public void Steppers_WithZonesUnderWay_AllocateNothing()
    {
        var machine = Rails.Apart(1);
        machine.Done(machine.Move("left", 10));
        var rounds = Enumerable.Range(0, 4).Select(round =>
        {
            var before = machine.World.Ports.Sum(port => port.StepperAllocatedBytes);
            machine.Done(machine.Move("left", round % 2 == 0 ? 600 : 10));
            return machine.World.Ports.Sum(port => port.StepperAllocatedBytes) - before;
        }).ToArray();
        Assert.True(rounds.Min() == 0, $"bytes by round: {string.Join(", ", rounds)}");
    }

    private static SupervisedMachine BothInside()
    {
        for (ulong seed = 1; seed < 200; seed++)
        {
            var machine = Rails.Started(seed);
            var left = machine.Axis("left").Position;
            var apart = Rails.RightZero - left - machine.Axis("right").Position;
            if (left is > 310 and < 410 && machine.Axis("arm").Position is > 110 and < 190 && apart > 100)
            {
                machine.Done(new EnableCommand(machine.Axes("lift", "arm", "left", "right")));
                return machine;
            }
        }

        throw new InvalidOperationException("No seed puts them both inside");
    }
}

using Supervisor.Machine.Api;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Scenarios.Moves;

/// <summary>An endless axis goes to a position by the shortest way, or in the direction it is told. Values computed from the positions.</summary>
public sealed class DirectionTests
{
    [Theory]
    [InlineData(WayRound.Shortest, 270, -90)]
    [InlineData(WayRound.Positive, 270, 270)]
    [InlineData(WayRound.Negative, 90, -270)]
    [InlineData(WayRound.Shortest, 90, 90)]
    [InlineData(WayRound.Negative, 630, -90)]
    public void Direction_FromZero_GoesThatWay(WayRound way, double to, double travels)
    {
        var machine = Movers.Working(401);
        var before = machine.Plant("drum");
        machine.Done(To(machine, to, way));
        Assert.Equal(travels, machine.Plant("drum") - before, 1.0);
    }

    [Fact]
    public void Direction_AlreadyThere_GoesNoWholeTurn()
    {
        var machine = Movers.Working(402);
        machine.Done(To(machine, 90, WayRound.Positive));
        var before = machine.Plant("drum");
        machine.Done(To(machine, 90, WayRound.Positive));
        machine.Done(To(machine, 90, WayRound.Negative));
        Assert.Equal(before, machine.Plant("drum"), 1.0);
    }

    [Fact]
    public void Direction_TargetTooNearToStopAt_IsReachedWithTheNextTurn()
    {
        var machine = Movers.Working(403);
        machine.Begin(machine.Endless("drum", 720));
        machine.RunUntil(() => machine.Speed("drum") > 715, 2, "drum at speed");

        // 30° ahead: v²/2a is 72° at these limits. It must not turn back for it.
        var position = machine.Axis("drum").Position;
        var lowest = 0.0;
        var ticket = machine.Begin(To(machine, (position + 30) % 360, WayRound.Positive));
        while (!ticket.Completion.IsCompleted)
        {
            machine.Run(0.01);
            lowest = Math.Min(lowest, machine.World.Drive("drum").Plant.Velocity);
        }

        Assert.Equal((Outcome.Done, Refusal.None), ticket.End());
        Assert.InRange(lowest, -20, 0);
    }

    [Fact]
    public void Direction_OfAnAxisWithEndsOrOfADistance_IsRefused()
    {
        var machine = Movers.Working(404);
        Assert.Equal(Refusal.InvalidArgument, machine.Do(new MoveCommand([new MoveTarget(machine.World.Axis("gantry"), 10, false) { Way = WayRound.Positive }], null)).Refusal);
        Assert.Equal(Refusal.InvalidArgument, machine.Do(new MoveCommand([new MoveTarget(machine.World.Axis("drum"), 10, true) { Way = WayRound.Positive }], null)).Refusal);
    }

    [Fact]
    public void Distance_FromActual_CountsFromWhereTheAxisIs_FromTheLastTargetDoesNot()
    {
        var machine = Movers.Working(405);

        // While it runs to 400, both ways of counting differ by the way that is left.
        machine.Begin(machine.Move("gantry", 400) with { Velocity = 100 });
        machine.RunUntil(() => machine.Axis("gantry").Position > 200, 5, "gantry on the way");
        machine.Done(machine.By("gantry", 50, fromActual: true) with { Velocity = 100 });
        Assert.InRange(machine.Axis("gantry").Position, 250, 265);

        machine.Begin(machine.Move("gantry", 400) with { Velocity = 100 });
        machine.RunUntil(() => machine.Axis("gantry").Position > 300, 5, "gantry on the way");
        machine.Done(machine.By("gantry", 50) with { Velocity = 100 });
        Assert.Equal(450, machine.Axis("gantry").Position, 0.2);
    }

    private static MoveCommand To(Supervisor.Scenarios.World.SupervisedMachine machine, double to, WayRound way) =>
        new([new MoveTarget(machine.World.Axis("drum"), to, false) { Way = way }], null);
}

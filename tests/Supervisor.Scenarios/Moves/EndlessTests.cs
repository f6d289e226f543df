using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Moves;

/// <summary>A velocity without end: accepted, and lasting until something takes its place.</summary>
public sealed class EndlessTests
{
    [Fact]
    public void Endless_Halted_RanOnAndOnAndEndsReplaced()
    {
        var machine = Movers.Working(411);
        var ticket = machine.Begin(machine.Endless("drum", -300));
        machine.Run(1);
        var before = machine.Plant("drum");
        machine.Run(20);
        Assert.Equal(-6000, machine.Plant("drum") - before, 60.0);
        Assert.False(ticket.Completion.IsCompleted);
        machine.Done(new HaltCommand(machine.Axes("drum")));
        Assert.Equal((Outcome.Replaced, Refusal.Stopped), ticket.End());
        Assert.Empty(machine.Journal.Faults);
    }

    [Fact]
    public void Endless_RegistersOfSixteenBits_TargetsRunAheadWithoutADipInSpeed()
    {
        // 32,767 steps of 0.02° are 655°: at 90°/s a target is passed on every few seconds.
        var machine = new SupervisedMachine(Narrow(), 412);
        machine.RunUntil(() => machine.Axis("slide") is { Online: true, State: AxisState.Disabled, Detail: AxisDetail.None }, 5, "met");
        machine.Grant = machine.Control.TryAcquire("operator", out _);
        machine.Done(new EnableCommand([0]));
        machine.Begin(machine.Endless("slide", 90));
        machine.RunUntil(() => machine.Speed("slide") > 89, 2, "at speed");
        var before = machine.Plant("slide");
        var (slowest, fastest) = (double.MaxValue, 0.0);
        for (var i = 0; i < 3000; i++)
        {
            machine.Run(0.01);
            slowest = Math.Min(slowest, machine.Speed("slide"));
            fastest = Math.Max(fastest, machine.Speed("slide"));
        }

        Assert.InRange(slowest, 88, 92);
        Assert.InRange(fastest, 88, 92);
        Assert.Equal(2700, machine.Plant("slide") - before, 30.0);

        // Faster than targets can be passed on is refused, with what is possible.
        var answer = machine.Do(machine.Endless("slide", 700));
        Assert.Equal((Outcome.Refused, Refusal.VelocityLimit), (answer.Outcome, answer.Refusal));
    }

    [Fact]
    public void Endless_AnotherVelocityAndThenAPosition_EachTakesTheOthersPlace()
    {
        var machine = Movers.Working(413);
        var first = machine.Begin(machine.Endless("drum", 100));
        machine.Run(1);
        var second = machine.Begin(machine.Endless("drum", -200));
        Assert.Equal((Outcome.Replaced, Refusal.ReplacedByCommand), first.End());
        machine.Run(1);
        Assert.Equal(-200, machine.Axis("drum").Velocity, 5.0);
        machine.Done(machine.Move("drum", 90));
        Assert.Equal((Outcome.Replaced, Refusal.ReplacedByCommand), second.End());
        Assert.Equal(90, machine.Axis("drum").Position, 0.6);
    }

    [Fact]
    public void Endless_VelocityOfNone_IsAHalt()
    {
        var machine = Movers.Working(414);
        var ticket = machine.Begin(machine.Endless("drum", 100));
        machine.Run(1);
        machine.Done(machine.Endless("drum", 0));
        Assert.Equal(AxisState.Ready, machine.State("drum"));
        Assert.Equal((Outcome.Replaced, Refusal.Stopped), ticket.End());
    }

    [Fact]
    public void Endless_InterlockOpens_StopsByItsCategory()
    {
        var machine = Movers.Working(415);
        var ticket = machine.Begin(machine.Endless("drum", 100));
        machine.Run(1);
        machine.World.Drive("drum").SetInput("input1", false);
        machine.RunUntil(() => ticket.Completion.IsCompleted, 3, "the run ends");
        Assert.Equal((Outcome.Replaced, Refusal.InterlockTripped), ticket.End());
        machine.RunUntil(() => machine.Speed("drum") < 1, 1, "the drum stands");
    }

    [Theory]
    [InlineData("gantry", 10, Refusal.InvalidArgument)]
    [InlineData("drum", 721, Refusal.VelocityLimit)]
    [InlineData("drum", double.NaN, Refusal.InvalidArgument)]
    public void Endless_ThatCannotBe_IsRefused(string axis, double velocity, Refusal refusal)
    {
        var machine = Movers.Working(416);
        var answer = machine.Do(machine.Endless(axis, velocity));
        Assert.Equal((Outcome.Refused, refusal), (answer.Outcome, answer.Refusal));
    }

    internal static MachineDefinition Narrow() => new OneAxis
    {
        CountsPerUnit = 50,
        Limits = """ "velocity": 720, "acceleration": 1500, "deceleration": 1500 """,
        Axis = OneAxis.Endless,
        Window = 0.5,
        Feedback = """{ "name": "statusword", "register": 0, "type": "u16" }, { "name": "position", "register": 1, "type": "s16" }, { "name": "velocity", "register": 3, "type": "s32" }, { "name": "digitalInputs", "register": 5, "type": "u16" }""",
        Command = """{ "name": "controlword", "register": 64, "type": "u16" }, { "name": "mode", "register": 65, "type": "s16" }, { "name": "targetPosition", "register": 66, "type": "s16" }, { "name": "profileVelocity", "register": 68, "type": "u32" }, { "name": "profileAcceleration", "register": 70, "type": "u32" }, { "name": "profileDeceleration", "register": 72, "type": "u32" }""",
    }.Build();
}

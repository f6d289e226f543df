using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.Scenarios.Moves;

/// <summary>
/// A move that waits for the running one. As PLCopen's buffered motion commands promise, each of the two ends exactly once; unlike them,
/// there is a rest between them.
/// </summary>
public sealed class WaitingTests
{
    [Fact]
    public void After_RunningMove_BeginsWhenItHasArrived()
    {
        var machine = Movers.Working(421);
        var first = machine.Begin(machine.Move("gantry", 300));
        var second = machine.Begin(machine.By("gantry", 50) with { AfterCurrent = true });
        Assert.False(first.Completion.IsCompleted);
        machine.RunUntil(() => first.Completion.IsCompleted, 5, "the first arrives");
        Assert.Equal(300, machine.Axis("gantry").Position, 1.0);
        Assert.False(second.Completion.IsCompleted);
        machine.RunUntil(() => second.Completion.IsCompleted, 5, "the second arrives");
        Assert.Equal((Outcome.Done, Refusal.None), first.End());
        Assert.Equal((Outcome.Done, Refusal.None), second.End());
        Assert.Equal(350, machine.Axis("gantry").Position, 0.2);
    }

    [Fact]
    public void After_AxisThatStands_BeginsAtOnce()
    {
        var machine = Movers.Working(422);
        machine.Done(machine.Move("gantry", 300) with { AfterCurrent = true });
        Assert.Equal(300, machine.Axis("gantry").Position, 0.2);
    }

    [Fact]
    public void After_SecondThatWaits_IsRefusedAndTheFirstGoesOn()
    {
        var machine = Movers.Working(423);
        machine.Begin(machine.Move("gantry", 300));
        var waiting = machine.Begin(machine.Move("gantry", 400) with { AfterCurrent = true });
        var answer = machine.Do(machine.Move("gantry", 500) with { AfterCurrent = true });
        Assert.Equal((Outcome.Refused, Refusal.AlreadyWaiting), (answer.Outcome, answer.Refusal));
        machine.RunUntil(() => waiting.Completion.IsCompleted, 5, "the waiting one arrives");
        Assert.Equal((Outcome.Done, Refusal.None), waiting.End());

        // Once it has begun, the next one may wait.
        machine.Begin(machine.Move("gantry", 100));
        machine.Begin(machine.Move("gantry", 200) with { AfterCurrent = true });
    }

    [Fact]
    public void After_SecondGivenWithTheFirst_IsRefusedByTheAxis()
    {
        // All three at once: nothing is seen yet of what the axis will do with the first.
        var machine = Movers.Working(424);
        var first = machine.Give(machine.Move("gantry", 300));
        var second = machine.Give(machine.Move("gantry", 400) with { AfterCurrent = true });
        var third = machine.Give(machine.Move("gantry", 500) with { AfterCurrent = true });
        machine.RunUntil(() => second.Completion.IsCompleted, 10, "the second arrives");
        Assert.Equal(Outcome.Done, first.End().Item1);
        Assert.Equal(Outcome.Done, second.End().Item1);
        Assert.Equal((Outcome.Refused, Refusal.AlreadyWaiting), third.End());
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void After_StopOrHalt_EndsBothAndTheWaitingOneNeverMoves(bool stop)
    {
        var machine = Movers.Working(425);
        var first = machine.Begin(machine.Move("gantry", 300));
        var second = machine.Begin(machine.Move("gantry", 400) with { AfterCurrent = true });
        machine.Done(stop ? new StopCommand(machine.Axes("gantry")) : new HaltCommand(machine.Axes("gantry")));
        Assert.Equal((Outcome.Replaced, Refusal.Stopped), first.End());
        Assert.Equal((Outcome.Replaced, Refusal.Stopped), second.End());
        var stood = machine.Plant("gantry");
        machine.Run(3);
        Assert.Equal(stood, machine.Plant("gantry"), 0.1);
    }

    [Fact]
    public void After_AnotherMoveTakesThePlace_EndsBoth()
    {
        var machine = Movers.Working(426);
        var first = machine.Begin(machine.Move("gantry", 300));
        var second = machine.Begin(machine.Move("gantry", 400) with { AfterCurrent = true });
        machine.Done(machine.Move("gantry", 50));
        Assert.Equal((Outcome.Replaced, Refusal.ReplacedByCommand), first.End());
        Assert.Equal((Outcome.Replaced, Refusal.ReplacedByCommand), second.End());
        Assert.Equal(50, machine.Axis("gantry").Position, 0.2);
    }

    [Fact]
    public void After_Fault_FailsBoth()
    {
        var machine = Movers.Working(427);
        var first = machine.Begin(machine.Move("gantry", 300));
        var second = machine.Begin(machine.Move("gantry", 400) with { AfterCurrent = true });
        machine.World.Drive("gantry").Trip(0x3220);
        machine.RunUntil(() => first.Completion.IsCompleted && second.Completion.IsCompleted, 2, "both end");
        Assert.Equal(FaultCode.UnderVoltage, World.SupervisedMachine.Ended(first).Fault);
        Assert.Equal((Outcome.Failed, FaultCode.UnderVoltage), World.SupervisedMachine.Ended(second) is var end ? (end.Outcome, end.Fault) : default);
    }

    [Fact]
    public void After_AnythingThatDoesNotArrive_IsRefused()
    {
        var machine = Movers.Working(428);
        var run = machine.Begin(machine.Endless("drum", 100));
        var answer = machine.Do(machine.Move("drum", 10) with { AfterCurrent = true });
        Assert.Equal((Outcome.Refused, Refusal.AxisBusy), (answer.Outcome, answer.Refusal));
        Assert.False(run.Completion.IsCompleted);
        Assert.Equal(AxisState.Moving, machine.State("drum"));
    }

    [Fact]
    public void After_ClientVanishes_EndsBothAndHalts()
    {
        var machine = Movers.Working(429);
        var first = machine.Begin(machine.Move("gantry", 700));
        var second = machine.Begin(machine.Move("gantry", 100) with { AfterCurrent = true });
        machine.Grant!.Dispose();
        machine.RunUntil(() => first.Completion.IsCompleted && second.Completion.IsCompleted, 2, "both end");
        Assert.Equal((Outcome.Replaced, Refusal.AuthorityLost), first.End());
        Assert.Equal((Outcome.Replaced, Refusal.AuthorityLost), second.End());
    }
}

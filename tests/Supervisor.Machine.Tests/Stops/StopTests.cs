using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Stops;

public sealed class StopTests
{
    [Fact]
    public void Stop_IsInTheLatchBeforeSubmitReturns_ThoughNobodySteps()
    {
        var rig = MachineRig.Ready();
        rig.Control.Submit(new StopCommand([]), null);
        Assert.All(Enumerable.Range(0, 4), axis => Assert.Equal(1, rig.Board.Latch.StopEpoch(axis)));
    }

    [Fact]
    public void Stop_WithoutAuthority_IsTaken_AndDoneOnceAtRest()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Drum).StepsPerCommand = int.MaxValue;
        var move = rig.Submit(new MoveCommand([new(Drum, 10, false)], null));
        rig.Step(3);
        rig.Axis(Drum).ObeysStops = false;
        var stop = rig.Control.Submit(new StopCommand([Drum]), null);
        rig.Run(100);
        Assert.False(stop.Completion.IsCompleted);

        rig.Axis(Drum).ObeysStops = true;
        rig.Step(2);
        Assert.Equal(Outcome.Done, MachineRig.Answer(stop).Outcome);
        Assert.Equal((Outcome.Replaced, Refusal.Stopped), MachineRig.Answer(move) is var answer ? (answer.Outcome, answer.Refusal) : default);
    }

    [Fact]
    public void Stop_AxisThatKeepsMoving_FailsAfterItsTime()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Drum).ObeysStops = false;
        var answer = rig.Do(new StopCommand([Drum]));
        Assert.Equal((Outcome.Failed, FaultCode.StopFailed), (answer.Outcome, answer.Fault));
        Assert.Contains("drum", answer.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(AxisState.Faulted)]
    [InlineData(AxisState.Disabled)]
    [InlineData(AxisState.Ready)]
    public void Stop_AxisThatStillMovesInAStateOfRest_IsNotDoneBeforeItStands(AxisState state)
    {
        var rig = MachineRig.Ready();
        rig.Axis(Drum).Now.State = state;
        rig.Axis(Drum).Now.Velocity = rig.Board.Machine.Axes[Drum].Limits.Velocity / 2;
        var stop = rig.Control.Submit(new HaltCommand([Drum]), null);
        rig.Run(100);
        Assert.False(stop.Completion.IsCompleted);

        rig.Axis(Drum).Now.Velocity = 0;
        rig.Step(2);
        Assert.Equal(Outcome.Done, MachineRig.Answer(stop).Outcome);
    }

    [Fact]
    public void Stop_AxisThatDoesNotAnswer_SaysThatItIsNotConfirmed()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Drum).Now.Online = false;
        var answer = rig.Do(new StopCommand([]));
        Assert.Equal((Outcome.Failed, Refusal.AxisOffline, FaultCode.LinkLost), (answer.Outcome, answer.Refusal, answer.Fault));
        Assert.Contains("250 ms", answer.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Stop_WithAnUnknownAxis_StopsTheOthersAndSaysSo()
    {
        var rig = MachineRig.Ready();
        var answer = rig.Do(new StopCommand([Drum, 9]));
        MachineRig.AssertRefused(answer, Refusal.UnknownAxis, "9");
        Assert.Equal(1, rig.Board.Latch.StopEpoch(Drum));
        Assert.Equal(0, rig.Board.Latch.StopEpoch(Tray));
    }

    [Fact]
    public void Stop_WithTheQueueFullOfCommands_IsTakenAllTheSame()
    {
        var rig = MachineRig.Ready();
        CommandTicket last;
        do
        {
            last = rig.Submit(new MoveCommand([new(Drum, 10, false)], null));
        }
        while (!last.Completion.IsCompleted);

        MachineRig.AssertRefused(MachineRig.Answer(last), Refusal.MailboxFull, "queue");
        var stop = rig.Submit(new StopCommand([]));
        Assert.Equal(1, rig.Board.Latch.StopEpoch(Drum));
        rig.Step(3);
        Assert.Equal(Outcome.Done, MachineRig.Answer(stop).Outcome);
        Assert.Empty(rig.Axis(Drum).Taken);
    }

    [Fact]
    public void Stop_OfOneAxis_LeavesAnothersMoveAlone()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Tray).StepsPerCommand = int.MaxValue;
        var move = rig.Submit(new MoveCommand([new(Tray, 10, false)], null));
        rig.Step(3);
        rig.Do(new StopCommand([Drum]));
        Assert.False(move.Completion.IsCompleted);
        Assert.Equal(AxisState.Moving, rig.Axis(Tray).Now.State);
    }
}

using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Machine.Watching;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Commands;

public sealed class MoveTests
{
    [Fact]
    public void Move_WithoutVelocity_UsesTheAxisLimits()
    {
        var rig = MachineRig.Ready();

        var answer = rig.Do(Move(Dibber, 100));

        Assert.Equal(Outcome.Done, answer.Outcome);
        var taken = Assert.Single(rig.Axis(Dibber).Taken);
        Assert.Equal((AxisCommandKind.Move, 100, 250, 2000, 2000), (taken.Kind, taken.Target, taken.Velocity, taken.Acceleration, taken.Deceleration));
        Assert.Equal(answer.Id, taken.Id);
    }

    [Fact]
    public void Move_SeveralAxes_GivesAllInOneStepUnderOneId()
    {
        var rig = MachineRig.Ready();
        var ticket = rig.Submit(new MoveCommand([new(Gantry, 410, false), new(Drum, 90, true)], 50));
        rig.Step(2);

        Assert.Equal(ticket.Id, Assert.Single(rig.Axis(Gantry).Taken).Id);
        Assert.Equal((ticket.Id, AxisCommandKind.MoveBy, 90, 50), Assert.Single(rig.Axis(Drum).Taken) is var drum ? (drum.Id, drum.Kind, drum.Target, drum.Velocity) : default);
    }

    [Fact]
    public async Task Accepted_EndsWithNull_OnceEveryAxisHasTakenTheCommand()
    {
        var rig = MachineRig.Ready();
        rig.Ports[1].ReadsMailbox = false;
        rig.Axis(Gantry).StepsPerCommand = int.MaxValue;
        var ticket = rig.Submit(new MoveCommand([new(Gantry, 410, false), new(Drum, 90, true)], null));
        rig.Step(5);
        Assert.False(ticket.Accepted.IsCompleted);

        rig.Ports[1].ReadsMailbox = true;
        rig.Step(2);
        Assert.True(ticket.Accepted.IsCompletedSuccessfully);
        Assert.Null(await ticket.Accepted);
        Assert.False(ticket.Completion.IsCompleted);
    }

    [Fact]
    public void Move_BeyondTheUpperLimit_IsRefusedWithValueLimitAndUnit()
    {
        var rig = MachineRig.Ready();
        MachineRig.AssertRefused(rig.Do(Move(Dibber, 999999)), Refusal.PositionLimit, "dibber", "999999 mm", "180 mm", "0 to 180");
        MachineRig.AssertRefused(rig.Do(Move(Dibber, -0.5)), Refusal.PositionLimit, "dibber", "-0.5 mm", "lower limit of 0 mm");
        Assert.Empty(rig.Axis(Dibber).Taken);
    }

    [Fact]
    public void Move_BeyondTheLimitOfADisabledAxis_NamesTheLimitAllTheSame()
    {
        var rig = MachineRig.Started();
        MachineRig.AssertRefused(rig.Do(Move(Dibber, 999999)), Refusal.PositionLimit, "180 mm");
    }

    [Theory]
    [InlineData(0)]
    [InlineData(180)]
    public void Move_ToTheLimitItself_IsTaken(double target)
    {
        var rig = MachineRig.Ready();
        Assert.Equal(Outcome.Done, rig.Do(Move(Dibber, target)).Outcome);
    }

    [Fact]
    public void MoveBy_IsMeasuredFromTheLastTarget()
    {
        var rig = MachineRig.Ready();
        rig.Do(Move(Dibber, 170));
        MachineRig.AssertRefused(rig.Do(MoveBy(Dibber, 11)), Refusal.PositionLimit, "181 mm", "11", "170 mm", "180 mm");
        Assert.Equal(Outcome.Done, rig.Do(MoveBy(Dibber, 10)).Outcome);
    }

    [Theory]
    [InlineData(double.NaN)]
    [InlineData(double.PositiveInfinity)]
    [InlineData(double.NegativeInfinity)]
    public void Move_ToNoNumber_IsRefused(double target)
    {
        var rig = MachineRig.Ready();
        MachineRig.AssertRefused(rig.Do(Move(Tray, target)), Refusal.InvalidArgument, "tray", "mm");
        MachineRig.AssertRefused(rig.Do(MoveBy(Dibber, target)), Refusal.InvalidArgument, "dibber", "mm");
    }

    [Fact]
    public void Move_FasterThanTheLimit_IsRefusedWithBoth()
    {
        var rig = MachineRig.Ready();
        MachineRig.AssertRefused(rig.Do(new MoveCommand([new(Dibber, 10, false)], 251)), Refusal.VelocityLimit, "dibber", "251 mm/s", "250 mm/s");
    }

    [Theory]
    [InlineData(0)]
    [InlineData(-1)]
    [InlineData(double.NaN)]
    public void Move_WithoutForwardVelocity_IsRefused(double velocity)
    {
        var rig = MachineRig.Ready();
        MachineRig.AssertRefused(rig.Do(new MoveCommand([new(Dibber, 10, false)], velocity)), Refusal.InvalidArgument, "dibber", "mm/s");
    }

    [Theory]
    [InlineData(370, 10)]
    [InlineData(-10, 350)]
    [InlineData(360, 0)]
    [InlineData(359.5, 359.5)]
    public void Move_OfAnEndlessAxis_AimsWithinOneTurn(double target, double expected)
    {
        var rig = MachineRig.Ready();
        Assert.Equal(Outcome.Done, rig.Do(Move(Drum, target)).Outcome);
        Assert.Equal(expected, Assert.Single(rig.Axis(Drum).Taken).Target, 9);
    }

    [Fact]
    public void MoveBy_OfAnEndlessAxis_KeepsItsDistance()
    {
        var rig = MachineRig.Ready();
        rig.Do(MoveBy(Drum, 3600));
        Assert.Equal(3600, Assert.Single(rig.Axis(Drum).Taken).Target);
    }

    [Fact]
    public void Move_OfADisabledAxis_IsRefusedWithWhatToDoFirst()
    {
        var rig = MachineRig.Started();
        MachineRig.AssertRefused(rig.Do(Move(Dibber, 10)), Refusal.NotReferenced, "dibber", "home it");
        MachineRig.AssertRefused(rig.Do(Move(Drum, 10)), Refusal.NotEnabled, "drum", "enable it");
    }

    [Fact]
    public void Move_OfAFaultedAxis_NamesTheFault()
    {
        var rig = MachineRig.Ready();
        rig.PortOf(Drum).Fault(Drum, FaultCode.OverTemperature);
        MachineRig.AssertRefused(rig.Do(Move(Drum, 10)), Refusal.AxisFaulted, "drum", "over-temperature", "reset");
    }

    [Fact]
    public void Move_OfAnAxisWhoseGroupHasAFault_NamesTheFaultedOne()
    {
        var rig = MachineRig.Ready();
        rig.PortOf(Dibber).Fault(Dibber, FaultCode.FollowingError);
        MachineRig.AssertRefused(rig.Do(Move(Gantry, 10)), Refusal.GroupMemberFaulted, "gantry", "dibber", "head");
    }

    [Fact]
    public void Move_WhileTheGuardIsOpen_NamesGuardInputAndButton()
    {
        var rig = MachineRig.Ready();
        rig.SetAndSee("gantry.input1", false);
        MachineRig.AssertRefused(
            rig.Do(Move(Gantry, 10)), Refusal.InterlockOpen, "gantry", "front guard", "gantry.input1", "close it", "press and release", "tray.input3");
    }

    [Fact]
    public void Move_WhenOneOfTwoAxesCannot_GivesNeither()
    {
        var rig = MachineRig.Ready();
        rig.SetAndSee("gantry.input1", false);
        MachineRig.AssertRefused(rig.Do(new MoveCommand([new(Drum, 10, false), new(Gantry, 10, false)], null)), Refusal.InterlockOpen, "gantry");
        Assert.Empty(rig.Axis(Drum).Taken);
    }

    [Fact]
    public void Move_WhenOneMailboxIsFull_GivesNeither()
    {
        var rig = MachineRig.Ready();
        rig.Ports[1].ReadsMailbox = false;
        while (rig.Board.Ports[1].Mailbox.TryWrite(default))
        {
        }

        MachineRig.AssertRefused(rig.Do(new MoveCommand([new(Gantry, 10, false), new(Drum, 10, false)], null)), Refusal.MailboxFull, "line-b");
        Assert.Empty(rig.Axis(Gantry).Taken);
    }

    [Fact]
    public void Move_OneAxisFails_StopsTheOtherAndEndsWithTheFirstCause()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Tray).StepsPerCommand = rig.Axis(Drum).StepsPerCommand = int.MaxValue;
        var ticket = rig.Submit(new MoveCommand([new(Tray, 10, false), new(Drum, 10, false)], null));
        rig.Step(3);
        rig.PortOf(Drum).Fault(Drum, FaultCode.FollowingError);
        rig.Step(5);

        var answer = MachineRig.Answer(ticket);
        Assert.Equal((Outcome.Failed, FaultCode.FollowingError, (int)Drum), (answer.Outcome, answer.Fault, answer.Axis));
        Assert.Contains("drum", answer.Message, StringComparison.Ordinal);
        Assert.Equal(1, rig.Board.Latch.StopEpoch(Tray));
        Assert.Equal(AxisState.Ready, rig.Axis(Tray).Now.State);
    }

    [Fact]
    public void Move_OneAxisRefusesAtTheLastMoment_StopsTheOther()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Tray).StepsPerCommand = int.MaxValue;
        rig.Axis(Drum).NextRefusal = Refusal.CauseStillPresent;
        var ticket = rig.Submit(new MoveCommand([new(Tray, 10, false), new(Drum, 10, false)], null));
        rig.Step(6);

        Assert.Equal(Refusal.CauseStillPresent, MachineRig.Answer(ticket).Refusal);
        Assert.Equal(AxisState.Ready, rig.Axis(Tray).Now.State);
    }

    [Fact]
    public void Move_WhileAMoveRuns_TakesItsPlace()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Dibber).StepsPerCommand = int.MaxValue;
        var first = rig.Submit(Move(Dibber, 10));
        rig.Step(3);
        var second = rig.Submit(Move(Dibber, 20));
        rig.Step(3);

        Assert.Equal((Outcome.Replaced, Refusal.ReplacedByCommand), MachineRig.Answer(first) is var answer ? (answer.Outcome, answer.Refusal) : default);
        Assert.Equal(second.Id, rig.Axis(Dibber).InHand.Id);
    }

    [Fact]
    public void Move_OfTwoAxesTakingTheirPlaceTogether_IsNotStoppedByTheEndOfTheFirst()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Tray).StepsPerCommand = rig.Axis(Drum).StepsPerCommand = int.MaxValue;
        var first = rig.Submit(new MoveCommand([new(Tray, 10, false), new(Drum, 10, false)], null));
        rig.Step(3);
        rig.Ports[1].ReadsMailbox = false;
        var second = rig.Submit(new MoveCommand([new(Tray, 20, false), new(Drum, 20, false)], null));
        rig.Step(5);
        rig.Ports[1].ReadsMailbox = true;
        rig.Step(5);

        Assert.Equal(Outcome.Replaced, MachineRig.Answer(first).Outcome);
        Assert.False(second.Completion.IsCompleted);
        Assert.Equal((second.Id, second.Id), (rig.Axis(Tray).InHand.Id, rig.Axis(Drum).InHand.Id));
        Assert.Equal((0, 0), (rig.Board.Latch.StopEpoch(Tray), rig.Board.Latch.StopEpoch(Drum)));
    }

    [Fact]
    public void Move_WhileTheAxisHomes_IsRefused()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Dibber).StepsPerCommand = int.MaxValue;
        rig.Submit(new HomeCommand([Dibber]));
        rig.Step(3);
        MachineRig.AssertRefused(rig.Do(Move(Dibber, 10)), Refusal.AxisBusy, "dibber", "homing");
    }

    [Fact]
    public void Move_GivenBeforeAStop_IsNotBegunAfterIt()
    {
        var rig = MachineRig.Ready();
        var move = rig.Submit(Move(Dibber, 10));
        rig.Submit(new StopCommand([Dibber]));
        rig.Step(4);

        MachineRig.AssertRefused(MachineRig.Answer(move), Refusal.Stopped, "dibber");
        Assert.Empty(rig.Axis(Dibber).Taken);
    }

    [Fact]
    public void Move_OfAnAxisThatDoesNotAnswer_NamesAddressAndPort()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Drum).Now.Online = false;
        rig.Step();
        MachineRig.AssertRefused(rig.Do(Move(Drum, 10)), Refusal.AxisOffline, "drum", "address 4", "line-b");
    }

    [Fact]
    public void Move_OfAxesThatDoNotExistOrTwice_IsRefused()
    {
        var rig = MachineRig.Ready();
        MachineRig.AssertRefused(rig.Do(Move(7, 10)), Refusal.UnknownAxis, "7", "tray, gantry, dibber and drum");
        MachineRig.AssertRefused(rig.Do(Move(-1, 10)), Refusal.UnknownAxis, "-1");
        MachineRig.AssertRefused(rig.Do(new MoveCommand([new(Drum, 1, false), new(Drum, 2, false)], null)), Refusal.InvalidArgument, "drum", "twice");
        MachineRig.AssertRefused(rig.Do(new MoveCommand([], null)), Refusal.InvalidArgument, "name at least one");
    }

    [Fact]
    public void Move_WhosePortDies_EndsAndStopsTheOtherAxis()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Tray).StepsPerCommand = rig.Axis(Drum).StepsPerCommand = int.MaxValue;
        var ticket = rig.Submit(new MoveCommand([new(Tray, 10, false), new(Drum, 10, false)], null));
        rig.Step(3);
        rig.Ports[1].Steps = false;
        rig.Run(1100);

        var answer = MachineRig.Answer(ticket);
        Assert.Equal((Outcome.Failed, FaultCode.PortThreadEnded), (answer.Outcome, answer.Fault));
        Assert.Equal(AxisState.Ready, rig.Axis(Tray).Now.State);
    }

    /// <summary>A coordinator that stood still itself can't say that a port did: it gives it as long as any other. An interlock whose inputs are old opens all the same.</summary>
    [Fact]
    public void Move_WhileEverythingStoodStill_GoesOn()
    {
        var rig = MachineRig.Ready(Seeder() with { Interlocks = [] });
        rig.Axis(Drum).StepsPerCommand = 20;
        var ticket = rig.Submit(new MoveCommand([new(Drum, 10, false)], null));
        rig.Step(3);
        rig.Stall(MachineView.DeadAfter * 3);

        Assert.True(rig.Control.Status().Ports[1].Open);
        Assert.False(ticket.Completion.IsCompleted);
        rig.Run(1000);
        Assert.Equal(Outcome.Done, MachineRig.Answer(ticket).Outcome);
    }

    [Fact]
    public void Move_WhosePortDiesWhileEverythingStoodStill_Ends()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Drum).StepsPerCommand = int.MaxValue;
        var ticket = rig.Submit(new MoveCommand([new(Drum, 10, false)], null));
        rig.Step(3);
        rig.Ports[1].Steps = false;
        rig.Stall(MachineView.DeadAfter * 3);
        rig.Run(1100);

        Assert.Equal((Outcome.Failed, FaultCode.PortThreadEnded), (MachineRig.Answer(ticket).Outcome, MachineRig.Answer(ticket).Fault));
        Assert.False(rig.Control.Status().Ports[1].Open);
    }

    private static MoveCommand Move(int axis, double target) => new([new MoveTarget(axis, target, false)], null);

    private static MoveCommand MoveBy(int axis, double distance) => new([new MoveTarget(axis, distance, true)], null);
}

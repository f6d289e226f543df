using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using static Supervisor.Machine.Tests.Recovery.Faulting;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Recovery;

public sealed class RecoveryTests
{
    [Fact]
    public void NoRule_LeavesTheAxisFaulted()
    {
        var rig = MachineRig.Ready();
        Lose(rig, Dibber);
        rig.Run(10_000);
        Assert.Equal(AxisState.Faulted, rig.Axis(Dibber).Now.State);
        Assert.Empty(rig.Journal.Recoveries);
    }

    [Fact]
    public void LinkLost_ResetsAndHomes_OnlyAfterTheDriveAnswersAndABackOff()
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule()]));
        rig.PortOf(Dibber).SetOnline(Dibber, false);
        rig.Run(3000);
        Assert.Empty(rig.Axis(Dibber).Taken);

        rig.Axis(Dibber).Now.Online = true;
        rig.Run(950);
        Assert.Empty(rig.Axis(Dibber).Taken);
        rig.Run(200);
        Assert.Equal([AxisCommandKind.Reset, AxisCommandKind.Home], rig.Axis(Dibber).Taken.Select(command => command.Kind));
        Assert.True(rig.Axis(Dibber).Now is { State: AxisState.Ready, Referenced: true });
        AssertTold(rig, RecoveryChange.Begun, RecoveryChange.Succeeded);
        Assert.Empty(rig.Axis(Gantry).Taken);
    }

    [Theory]
    [InlineData(RecoveryAction.Reset, AxisState.Disabled)]
    [InlineData(RecoveryAction.ResetAndEnable, AxisState.Ready)]
    public void Action_GoesAsFarAsTheFileSays(RecoveryAction action, AxisState expected)
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule(then: action)]));
        Fail(rig, Dibber, FaultCode.DriveCommunicationTimeout);
        rig.Run(2000);
        Assert.Equal(expected, rig.Axis(Dibber).Now.State);
        Assert.DoesNotContain(rig.Axis(Dibber).Taken, command => command.Kind == AxisCommandKind.Home);
    }

    [Fact]
    public void AxisThatWasDisabled_IsResetButNeverEnergised()
    {
        var rig = MachineRig.Started(Seeder(dibberRecovery: [LinkRule()]));
        Lose(rig, Dibber);
        rig.Run(5000);
        Assert.Equal([AxisCommandKind.Reset], rig.Axis(Dibber).Taken.Select(command => command.Kind));
        Assert.Equal(AxisState.Disabled, rig.Axis(Dibber).Now.State);
    }

    [Theory]
    [InlineData(FaultCode.OverCurrent)]
    [InlineData(FaultCode.StandstillLost)]
    [InlineData(FaultCode.StopFailed)]
    [InlineData(FaultCode.WrongIdentity)]
    public void GraveFault_IsNeverRecovered_WhateverTheFileSays(FaultCode code)
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule() with { Faults = Enum.GetValues<FaultClass>() }]));
        Fail(rig, Dibber, code);
        rig.Run(5000);
        Assert.Empty(rig.Axis(Dibber).Taken);
        Assert.Equal(AxisState.Faulted, rig.Axis(Dibber).Now.State);
    }

    [Fact]
    public void FaultOfAnotherClass_IsNotRecovered()
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule()]));
        Fail(rig, Dibber, FaultCode.OverTemperature);
        rig.Run(5000);
        Assert.Empty(rig.Axis(Dibber).Taken);
    }

    [Fact]
    public void AnotherFaultMeanwhile_Cancels()
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule()]));
        Lose(rig, Dibber);
        rig.Run(500);
        Fail(rig, Dibber, FaultCode.Encoder);
        rig.Run(5000);
        Assert.Empty(rig.Axis(Dibber).Taken);
        AssertTold(rig, RecoveryChange.Begun, RecoveryChange.Cancelled);
    }

    [Fact]
    public void Attempts_BackOffAndEnd()
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule()]));
        rig.Axis(Dibber).StepsPerCommand = int.MaxValue;
        Lose(rig, Dibber);
        var attempts = new List<TimeSpan>();
        var before = rig.Now;
        for (var ms = 0; ms < 30_000; ms += 5)
        {
            rig.Step();
            if (rig.Axis(Dibber).InHand.Kind == AxisCommandKind.Reset)
            {
                attempts.Add(rig.Now - before);
                before = rig.Now;
                Fail(rig, Dibber, FaultCode.LinkLost);
            }
        }

        Assert.Equal([1.0, 2.0, 4.0], attempts.Select(wait => Math.Round(wait.TotalSeconds, 1)));
        AssertTold(rig, RecoveryChange.Begun, RecoveryChange.AttemptFailed, RecoveryChange.AttemptFailed, RecoveryChange.AttemptFailed, RecoveryChange.GivenUp);
        Assert.All(rig.Journal.Recoveries, note => Assert.Equal(RecoveryAction.ResetAndHome, note.Action));
        Assert.Equal([(0, 3), (1, 3), (2, 3), (3, 3), (3, 3)], rig.Journal.Recoveries.Select(note => (note.Attempt, note.Attempts)));
        Assert.All(rig.Journal.Recoveries, note => Assert.Equal(FaultCode.LinkLost, note.After));
    }

    [Fact]
    public void BackOff_IsTheFiles()
    {
        var rule = LinkRule(attempts: 4) with { BackOff = new(TimeSpan.FromMilliseconds(300), 3, TimeSpan.FromMilliseconds(1500)) };
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [rule]));
        rig.Axis(Dibber).StepsPerCommand = int.MaxValue;
        Lose(rig, Dibber);
        var waits = new List<double>();
        var before = rig.Now;
        for (var ms = 0; ms < 10_000; ms += 5)
        {
            rig.Step();
            if (rig.Axis(Dibber).InHand.Kind == AxisCommandKind.Reset)
            {
                waits.Add(Math.Round((rig.Now - before).TotalSeconds, 1));
                before = rig.Now;
                Fail(rig, Dibber, FaultCode.LinkLost);
            }
        }

        Assert.Equal([0.3, 0.9, 1.5, 1.5], waits);
    }

    [Fact]
    public void Attempts_AreCountedByEachEntryOfTheFile()
    {
        var supply = LinkRule(attempts: 1) with { Faults = [FaultClass.Supply] };
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule(attempts: 1), supply]));
        foreach (var code in new[] { FaultCode.LinkLost, FaultCode.UnderVoltage })
        {
            Fail(rig, Dibber, code);
            rig.Run(3000);
            Assert.Equal(AxisState.Ready, rig.Axis(Dibber).Now.State);
        }

        Fail(rig, Dibber, FaultCode.LinkLost);
        rig.Run(3000);
        Assert.Equal(AxisState.Faulted, rig.Axis(Dibber).Now.State);
    }

    [Fact]
    public void Attempts_AreCountedWithinTheWindowOnly()
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule(attempts: 1)]));
        Lose(rig, Dibber);
        rig.Run(3000);
        Assert.Equal(AxisState.Ready, rig.Axis(Dibber).Now.State);

        Lose(rig, Dibber);
        rig.Run(5000);
        Assert.Equal(AxisState.Faulted, rig.Axis(Dibber).Now.State);
        AssertTold(rig, RecoveryChange.Begun, RecoveryChange.Succeeded, RecoveryChange.GivenUp);

        rig.Do(new ResetCommand([Dibber]));
        rig.Do(new HomeCommand([Dibber]));
        rig.Run(60_000);
        Lose(rig, Dibber);
        rig.Run(3000);
        Assert.Equal(AxisState.Ready, rig.Axis(Dibber).Now.State);
    }

    [Fact]
    public void StopByAPerson_Cancels()
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule()]));
        Lose(rig, Dibber);
        rig.Run(300);
        rig.Do(new StopCommand([]));
        rig.Run(10_000);
        Assert.Empty(rig.Axis(Dibber).Taken);
        AssertTold(rig, RecoveryChange.Begun, RecoveryChange.Cancelled);
    }

    [Fact]
    public void ResetByAPerson_CancelsAndNothingFollows()
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule()]));
        Lose(rig, Dibber);
        rig.Run(300);
        Assert.Equal(Outcome.Done, rig.Do(new ResetCommand([Dibber])).Outcome);
        rig.Run(10_000);
        Assert.Equal(AxisState.Disabled, rig.Axis(Dibber).Now.State);
        AssertTold(rig, RecoveryChange.Begun, RecoveryChange.Cancelled);
    }

    [Fact]
    public void StopOfTheOtherAxesByTheCoordinator_DoesNotCancelTheirRecovery()
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule()], gantryRecovery: [LinkRule()]));
        rig.Axis(Dibber).StepsPerCommand = rig.Axis(Gantry).StepsPerCommand = int.MaxValue;
        rig.Submit(new MoveCommand([new(Gantry, 10, false), new(Dibber, 10, false)], null));
        rig.Step(3);
        rig.Axis(Dibber).StepsPerCommand = rig.Axis(Gantry).StepsPerCommand = 2;
        rig.Axis(Dibber).StepsLeft = rig.Axis(Gantry).StepsLeft = 1000;

        // The dibber's fault is told while its part of the move has not been ended yet: it is stopped for the gantry's sake.
        rig.Board.Ports[1].Faults.TryWrite(new FaultEvent(rig.Now, Dibber, 1, FaultCode.LinkLost, 0, AxisState.Moving, 0, 0));
        rig.Axis(Dibber).ObeysStops = false;
        Lose(rig, Gantry);
        Assert.Equal(1, rig.Board.Latch.StopEpoch(Dibber));
        rig.Axis(Dibber).ObeysStops = true;
        Lose(rig, Dibber);
        rig.Run(5000);
        Assert.DoesNotContain(rig.Journal.Recoveries, note => note.Change == RecoveryChange.Cancelled);
        Assert.Equal((AxisState.Ready, AxisState.Ready), (rig.Axis(Gantry).Now.State, rig.Axis(Dibber).Now.State));
    }

    [Fact]
    public void TwoAxes_HomeInTheFilesOrder()
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule()], gantryRecovery: [LinkRule()]));
        rig.PortOf(Gantry).SetOnline(Gantry, false);
        rig.PortOf(Dibber).SetOnline(Dibber, false);
        rig.Run(100);
        rig.Axis(Gantry).Now.Online = true;
        rig.Run(3000);
        Assert.DoesNotContain(rig.Axis(Gantry).Taken, command => command.Kind == AxisCommandKind.Home);

        rig.Axis(Dibber).Now.Online = true;
        rig.Run(3000);
        Assert.Equal((AxisState.Ready, AxisState.Ready), (rig.Axis(Gantry).Now.State, rig.Axis(Dibber).Now.State));
    }

    [Fact]
    public void EarlierAxisWithoutZero_ForbidsHomingThisOne()
    {
        var rig = MachineRig.Ready(Seeder(gantryRecovery: [LinkRule()]));
        rig.Axis(Dibber).Now.Referenced = false;
        Lose(rig, Gantry);
        rig.Run(20_000);
        Assert.Equal([AxisCommandKind.Reset], rig.Axis(Gantry).Taken.Select(command => command.Kind));
        Assert.Contains("dibber", rig.Journal.Recoveries[^1].What, StringComparison.Ordinal);
    }

    [Fact]
    public void DriveThatStaysAwayTooLong_IsNotStartedHoursLater()
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule()]));
        rig.PortOf(Dibber).SetOnline(Dibber, false);
        rig.Run(301_000);
        rig.Axis(Dibber).Now.Online = true;
        rig.Run(10_000);
        Assert.Empty(rig.Axis(Dibber).Taken);
        AssertTold(rig, RecoveryChange.Begun, RecoveryChange.GivenUp);
    }

    [Fact]
    public void ShutDown_CancelsIt()
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule()]));
        Lose(rig, Dibber);
        rig.Run(300);
        rig.Coordinator.BeginShutDown(rig.Now);
        rig.Run(5000);
        Assert.Empty(rig.Axis(Dibber).Taken);
        AssertTold(rig, RecoveryChange.Begun, RecoveryChange.Cancelled);
    }
}

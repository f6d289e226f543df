using Supervisor.Machine.Api;
using Supervisor.Machine.Modes;
using Supervisor.Machine.Tests.Recovery;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Messaging;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Modes;

/// <summary>Modes as 2006/42/EC, annex I, 1.2.5 asks: one at a time, chosen apart from starting anything, each with what it permits.</summary>
public sealed class ModeTests
{
    [Fact]
    public void Status_AfterStart_IsProduction() => Assert.Equal("production", new MachineRig().Control.Status().Mode);

    [Theory]
    [InlineData(MachineMode.Maintenance, "maintenance")]
    [InlineData(MachineMode.Manual, "manual")]
    public void Choose_MachineAtRest_IsDoneAndStartsNothing(MachineMode mode, string name)
    {
        var rig = MachineRig.Ready();
        var given = Given(rig);

        Assert.Equal(Outcome.Done, rig.Do(new ChooseModeCommand(mode)).Outcome);
        rig.Run(1_000);

        Assert.Equal(name, rig.Control.Status().Mode);
        Assert.Equal(given, Given(rig));
        Assert.Equal(Outcome.Done, rig.Do(new ChooseModeCommand(MachineMode.Production)).Outcome);
        Assert.Equal(given, Given(rig));
    }

    [Fact]
    public void Choose_WhileAnAxisMoves_IsRefusedAndTheMoveGoesOn()
    {
        var rig = MachineRig.Ready();
        rig.Axis(Gantry).StepsPerCommand = int.MaxValue;
        var move = rig.Submit(new MoveCommand([new MoveTarget(Gantry, 100, false)], null));
        rig.Step(4);

        MachineRig.AssertRefused(rig.Do(new ChooseModeCommand(MachineMode.Manual)), Refusal.AxisBusy, "gantry", "stop it");
        Assert.Equal("production", rig.Control.Status().Mode);
        Assert.False(move.Completion.IsCompleted);
    }

    [Fact]
    public void Choose_WithoutAuthority_IsRefused()
    {
        var rig = MachineRig.Ready();

        var ticket = rig.Control.Submit(new ChooseModeCommand(MachineMode.Manual), null);
        rig.Step(2);

        Assert.Equal(Refusal.AuthorityHeldByAnother, MachineRig.Answer(ticket).Refusal);
        Assert.Equal("production", rig.Control.Status().Mode);
    }

    [Theory]
    [InlineData(MachineMode.Maintenance)]
    [InlineData(MachineMode.Manual)]
    public void Move_InASlowMode_GoesAtJogVelocityAtMost(MachineMode mode)
    {
        var rig = MachineRig.Ready();
        rig.Do(new ChooseModeCommand(mode));
        var slow = rig.Board.Machine.Axes[Gantry].JogVelocity;

        rig.Do(new MoveCommand([new MoveTarget(Gantry, 100, false)], null));
        Assert.Equal(slow, rig.Axis(Gantry).Taken[^1].Velocity, 6);
        MachineRig.AssertRefused(rig.Do(new MoveCommand([new MoveTarget(Gantry, 50, false)], slow * 2)), Refusal.VelocityLimit, "gantry", "production mode");

        rig.Do(new ChooseModeCommand(MachineMode.Production));
        rig.Do(new MoveCommand([new MoveTarget(Gantry, 50, false)], null));
        Assert.Equal(rig.Board.Machine.Axes[Gantry].Limits.Velocity, rig.Axis(Gantry).Taken[^1].Velocity, 6);
    }

    [Theory]
    [InlineData(MachineMode.Production, false)]
    [InlineData(MachineMode.Manual, false)]
    [InlineData(MachineMode.Maintenance, true)]
    public void Enable_AxisWithoutReference_IsForMaintenanceOnly(MachineMode mode, bool isPermitted)
    {
        var rig = MachineRig.Started();
        rig.Do(new ChooseModeCommand(mode));

        var answer = rig.Do(new EnableCommand([Gantry]));

        Assert.Equal(isPermitted ? Outcome.Done : Outcome.Refused, answer.Outcome);
        if (!isPermitted)
        {
            MachineRig.AssertRefused(answer, Refusal.NotReferenced, "gantry", "home");
            return;
        }

        // A move needs a zero in every mode; a slow jog does not.
        MachineRig.AssertRefused(rig.Do(new MoveCommand([new MoveTarget(Gantry, 10, false)], null)), Refusal.NotReferenced, "gantry");
        var press = rig.Control.Jog(new JogCommand(Gantry, true, null), rig.Grant);
        rig.Step(4);
        Assert.Equal(AxisCommandKind.Jog, rig.Axis(Gantry).Taken[^1].Kind);
        Assert.True(rig.Axis(Gantry).Taken[^1].Confirmed);
        press.Release();
    }

    [Fact]
    public void Choose_ProductionWithATorqueOnAnAxisWithoutReference_IsRefused()
    {
        var rig = MachineRig.Started();
        rig.Do(new ChooseModeCommand(MachineMode.Maintenance));
        rig.Do(new EnableCommand([Gantry]));

        MachineRig.AssertRefused(rig.Do(new ChooseModeCommand(MachineMode.Production)), Refusal.NotReferenced, "gantry", "disable");
    }

    [Theory]
    [InlineData(MachineMode.Production, true)]
    [InlineData(MachineMode.Maintenance, false)]
    [InlineData(MachineMode.Manual, false)]
    public void Recovery_IsForProductionOnly(MachineMode mode, bool isRecovered)
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule()]));
        rig.Do(new ChooseModeCommand(mode));
        Faulting.Lose(rig, Dibber);
        rig.Run(1_000);
        rig.PortOf(Dibber).SetOnline(Dibber, true);
        rig.Run(5_000);

        Assert.Equal(isRecovered, rig.Axis(Dibber).Taken.Any(command => command.Kind == AxisCommandKind.Reset));

        // Choosing production afterwards brings back nothing either.
        if (!isRecovered)
        {
            rig.Do(new ChooseModeCommand(MachineMode.Production));
            rig.Run(5_000);
            Assert.DoesNotContain(rig.Axis(Dibber).Taken, command => command.Kind == AxisCommandKind.Reset);
        }
    }

    [Fact]
    public void Recovery_UnderWay_IsCancelledByMaintenance()
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule()]));
        Faulting.Lose(rig, Dibber);
        rig.Run(200);
        Assert.Equal(Outcome.Done, rig.Do(new ChooseModeCommand(MachineMode.Maintenance)).Outcome);
        rig.PortOf(Dibber).SetOnline(Dibber, true);
        rig.Run(5_000);

        Assert.DoesNotContain(rig.Axis(Dibber).Taken, command => command.Kind == AxisCommandKind.Reset);
        Assert.Equal(AxisState.Faulted, rig.Axis(Dibber).Now.State);
    }

    [Theory]
    [InlineData(MachineMode.Production)]
    [InlineData(MachineMode.Maintenance)]
    [InlineData(MachineMode.Manual)]
    public void Stop_IsForEveryMode(MachineMode mode)
    {
        var rig = MachineRig.Ready();
        rig.Do(new ChooseModeCommand(mode));

        Assert.Equal(Outcome.Done, rig.Do(new StopCommand([])).Outcome);
        Assert.Equal(Outcome.Done, rig.Do(new ReleaseCommand([])).Outcome);
        Assert.Equal(Outcome.Done, rig.Do(new DisableCommand([Gantry])).Outcome);
    }

    [Fact]
    public void Table_NamesEveryActOnceInOrder() =>
        Assert.Equal(Enum.GetValues<ModeAct>(), ModeTable.Rows.Select(row => row.Act));

    private static int Given(MachineRig rig) => Enumerable.Range(0, rig.Board.Axes.Count).Sum(axis => rig.Axis(axis).Taken.Count);
}

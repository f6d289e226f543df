using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Brakes;
using Supervisor.Machine.Modes;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Contact;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Machine.Tests.Brakes;

/// <summary>When a brake must be proven, what is refused until then, and what is remembered.</summary>
public sealed class BrakeProofTests
{
    private static readonly ProveBrakeCommand Prove = new([Machines.Dibber]);
    private static readonly MoveCommand Move = new([new MoveTarget(Machines.Dibber, 20, false)], null);

    [Fact]
    public void Prove_OfAnAxisWithoutAProof_IsRefused() =>
        MachineRig.AssertRefused(MachineRig.Ready().Do(Prove), Refusal.NoBrakeProof, "dibber", "proof");

    [Fact]
    public void Prove_WhileAnotherAxisMoves_IsRefused()
    {
        var rig = Ready();
        rig.Axis(Machines.Gantry).StepsPerCommand = int.MaxValue;
        rig.Submit(new MoveCommand([new MoveTarget(Machines.Gantry, 100, false)], null));
        rig.Step(3);
        MachineRig.AssertRefused(rig.Do(Prove), Refusal.AxisBusy, "gantry moves");
    }

    [Fact]
    public void Prove_OfADisabledAxis_IsRefused()
    {
        var rig = MachineRig.Started(ProofMachine.With());
        MachineRig.AssertRefused(rig.Do(Prove), Refusal.NotEnabled, "enable it first");
    }

    [Fact]
    public void Prove_ThatPasses_TellsAndKeepsHowFarItMoved()
    {
        var rig = Ready(new() { Every = TimeSpan.FromHours(24) });
        var answer = Pass(rig, 0.03);

        Assert.Equal((Outcome.Done, 0.03), (answer.Outcome, answer.Value));
        Assert.Contains("dibber held 60 %: it moved 0.03 mm of 0.2 mm", answer.Message, StringComparison.Ordinal);
        Assert.Contains(rig.Journal.Commands, entry => entry.Command is ProveBrakeCommand && entry.Answer.Message == answer.Message);
        var status = rig.Control.Status().Axes[Machines.Dibber].BrakeProof;
        Assert.Equal((BrakeProofState.Proven, 0.03), (status.State, status.Movement));
        Assert.InRange(status.DueIn!.Value.TotalHours, 23.9, 24);
        Assert.Equal((true, 0.03, false), (Note(rig).PassedKnown, Note(rig).Movement, Note(rig).Failed));
    }

    /// <summary>Nobody knows when it was last proven: that counts as overdue, is warned of once, and forbids nothing by itself.</summary>
    [Fact]
    public void Interval_WithoutAKnownProof_WarnsOnce()
    {
        var rig = new MachineRig(ProofMachine.With(new() { Every = TimeSpan.FromHours(24) }));
        rig.Run(1000);
        Assert.Equal(BrakeProofState.Overdue, rig.Control.Status().Axes[Machines.Dibber].BrakeProof.State);
        Assert.Equal((short)Machines.Dibber, Assert.Single(rig.Journal.Faults, fault => fault.Code == FaultCode.BrakeProofOverdue).Axis);
        Assert.Equal(Outcome.Done, Ready(new() { Every = TimeSpan.FromHours(24) }).Do(Move).Outcome);
    }

    [Fact]
    public void Interval_ThatPasses_WarnsAgainOncePerInterval()
    {
        var rig = Ready(new() { Every = TimeSpan.FromSeconds(10) });
        Pass(rig);
        rig.Run(9_000);
        Assert.Empty(rig.Journal.Faults);
        rig.Run(3_000);
        Assert.Single(rig.Journal.Faults, fault => fault.Code == FaultCode.BrakeProofOverdue);
    }

    [Fact]
    public void Refuse_AfterTheGrace_RefusesMovesUntilItIsProven()
    {
        var rig = Ready(new() { Every = TimeSpan.FromSeconds(10), WhenOverdue = OverdueProof.Refuse, Grace = TimeSpan.FromSeconds(5) });
        Pass(rig);
        rig.Run(12_000);
        Assert.Equal(Outcome.Done, rig.Do(Move).Outcome);
        rig.Run(4_000);
        MachineRig.AssertRefused(rig.Do(Move), Refusal.BrakeProofDue, "dibber", "prove it");
        MachineRig.AssertRefused(rig.Do(new HomeCommand([Machines.Dibber])), Refusal.BrakeProofDue, "dibber");

        // A person must be able to bring the load where it hurts nobody; disabling and other axes are no matter of this brake.
        Assert.Equal(Outcome.Done, rig.Do(new JogCommand(Machines.Dibber, false, null)).Outcome);
        Assert.Equal(Outcome.Done, rig.Do(new MoveCommand([new MoveTarget(Machines.Gantry, 20, false)], null)).Outcome);
        Pass(rig);
        Assert.Equal(Outcome.Done, rig.Do(Move).Outcome);
    }

    [Fact]
    public void Refuse_OfAnAxisThatLostItsPlace_StillLetsItHome()
    {
        var rig = Ready(new() { Every = TimeSpan.FromHours(1), WhenOverdue = OverdueProof.Refuse });
        MachineRig.AssertRefused(rig.Do(Move), Refusal.BrakeProofDue, "not known");
        ref var now = ref rig.Axis(Machines.Dibber).Now;
        (now.State, now.TorqueOn, now.Referenced) = (AxisState.Disabled, false, false);
        rig.Step(2);
        Assert.Equal(Outcome.Done, rig.Do(new HomeCommand([Machines.Dibber])).Outcome);
    }

    [Theory]
    [InlineData(FaultCode.BrakeProofFailed)]
    [InlineData(FaultCode.BrakeSlip)]
    [InlineData(FaultCode.StandstillLostOnBrake)]
    [InlineData(FaultCode.Brake)]
    public void BrakeThatFailed_AfterItsReset_MovesNothingBeforeItIsProven(FaultCode fault)
    {
        var rig = Ready();
        rig.PortOf(Machines.Dibber).Fault(Machines.Dibber, fault);
        rig.Step(2);
        Assert.Equal(Outcome.Done, rig.Do(new ResetCommand([Machines.Dibber])).Outcome);
        Assert.Equal(Outcome.Done, rig.Do(new EnableCommand([Machines.Dibber])).Outcome);
        MachineRig.AssertRefused(rig.Do(Move), Refusal.BrakeProofDue, "failed", "support the load");
        Assert.True(Note(rig).Failed);
        Pass(rig);
        Assert.Equal(Outcome.Done, rig.Do(Move).Outcome);
        Assert.False(Note(rig).Failed);
    }

    /// <summary>A board without a battery clock learns late what time it is; only then is the time of the last proof known.</summary>
    [Fact]
    public void Memory_ThatComesLate_CountsFromThen()
    {
        var rig = Ready(new() { Every = TimeSpan.FromHours(24), WhenOverdue = OverdueProof.Refuse });
        MachineRig.AssertRefused(rig.Do(Move), Refusal.BrakeProofDue, "not known");
        rig.Board.ProofMemories[Machines.Dibber].Write(new BrakeProofNote { Version = 1, PassedKnown = true, PassedAt = rig.Now - TimeSpan.FromHours(3), Movement = 0.05 });
        rig.Step(2);
        var status = rig.Control.Status().Axes[Machines.Dibber].BrakeProof;
        Assert.Equal(BrakeProofState.Proven, status.State);
        Assert.InRange(status.Since!.Value.TotalHours, 2.99, 3.01);
        Assert.Equal(Outcome.Done, rig.Do(Move).Outcome);
    }

    [Fact]
    public void Memory_OfAFailedBrake_OutlivesARestart()
    {
        var rig = Ready();
        rig.Board.ProofMemories[Machines.Dibber].Write(new BrakeProofNote { Version = 1, PassedKnown = true, PassedAt = rig.Now - TimeSpan.FromHours(3), Failed = true });
        rig.Step(2);
        MachineRig.AssertRefused(rig.Do(Move), Refusal.BrakeProofDue, "failed");
    }

    [Fact]
    public void Stop_DuringAProof_EndsItWithoutAResult()
    {
        var rig = Ready(new() { Every = TimeSpan.FromHours(24) });
        rig.Axis(Machines.Dibber).StepsPerCommand = int.MaxValue;
        var ticket = rig.Submit(Prove);
        rig.Step(5);
        rig.Do(new StopCommand([Machines.Dibber]));
        Assert.Equal(Outcome.Replaced, MachineRig.Answer(ticket).Outcome);
        Assert.False(Note(rig).PassedKnown);
    }

    [Fact]
    public void Prove_InMaintenanceMode_IsPermitted()
    {
        var rig = Ready();
        Assert.Equal(Outcome.Done, rig.Do(new ChooseModeCommand(MachineMode.Maintenance)).Outcome);
        Assert.Equal(Outcome.Done, Pass(rig).Outcome);
    }

    private static CommandAnswer Pass(MachineRig rig, double movement = 0.01)
    {
        var axis = rig.Axis(Machines.Dibber);
        var steps = axis.StepsPerCommand;
        axis.StepsPerCommand = int.MaxValue;
        var ticket = rig.Submit(Prove);
        rig.Step(3);
        Assert.Equal(AxisCommandKind.ProveBrake, axis.InHand.Kind);
        rig.PortOf(Machines.Dibber).Finish(Machines.Dibber, movement);
        rig.Step(3);
        axis.StepsPerCommand = steps;
        return MachineRig.Answer(ticket);
    }

    private static BrakeProofNote Note(MachineRig rig) => rig.Board.Proofs[Machines.Dibber].Read();

    private static MachineRig Ready(ProofInterval? interval = null) => MachineRig.Ready(ProofMachine.With(interval));
}

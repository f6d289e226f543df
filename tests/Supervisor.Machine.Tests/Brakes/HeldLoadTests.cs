using Supervisor.Machine.Api;
using Supervisor.Machine.Modes;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Contact;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Machine.Tests.Brakes;

/// <summary>What people may do, and are told, while a motor alone holds a load.</summary>
public sealed class HeldLoadTests
{
    private static readonly ResetCommand Supported = new([Machines.Dibber], LoadSupported: true);

    public static TheoryData<MachineCommand> Refused =>
    [
        new EnableCommand([Machines.Dibber]), new DisableCommand([Machines.Dibber]), new HomeCommand([Machines.Dibber], Confirmed: true),
        new MoveCommand([new MoveTarget(Machines.Dibber, 20, false)], null), new JogCommand(Machines.Dibber, false, null),
        new ProveBrakeCommand([Machines.Dibber]), new ContactCommand(Machines.Dibber, 20, 10, 5),
    ];

    [Theory]
    [MemberData(nameof(Refused))]
    public void Command_OfAnAxisThatHoldsItsLoad_IsRefusedWithWhatToDo(MachineCommand command)
    {
        var rig = Holding();
        MachineRig.AssertRefused(rig.Do(command), Refusal.AxisFaulted, "motor of dibber alone holds its load", "support it", "reset dibber --load-supported");
        Assert.Empty(Taken(rig));
    }

    [Fact]
    public void Reset_WithoutTheSupport_IsRefusedAndWithItTakesTheTorqueAlone()
    {
        var rig = Holding();
        MachineRig.AssertRefused(rig.Do(new ResetCommand([Machines.Dibber])), Refusal.NeedsConfirmation, "--load-supported");
        MachineRig.AssertRefused(rig.Do(new ResetCommand([])), Refusal.NeedsConfirmation, "--load-supported");

        var answer = rig.Do(Supported);
        Assert.Equal(Outcome.Done, answer.Outcome);
        Assert.Contains("torque of dibber is off", answer.Message, StringComparison.Ordinal);
        Assert.Equal(AxisCommandKind.LoadSupported, Assert.Single(Taken(rig)).Kind);
        Assert.Contains(rig.Journal.Commands, entry => entry.Command == Supported && entry.Answer.Outcome == Outcome.Done);
        Assert.Equal(AxisState.Faulted, rig.Axis(Machines.Dibber).Now.State);
        Assert.Equal(Outcome.Done, rig.Do(new ResetCommand([Machines.Dibber])).Outcome);
    }

    [Theory]
    [InlineData(MachineMode.Production)]
    [InlineData(MachineMode.Maintenance)]
    [InlineData(MachineMode.Manual)]
    public void Support_InEveryMode_IsPermitted(MachineMode mode)
    {
        var rig = Holding();
        Assert.Equal(Outcome.Done, rig.Do(new ChooseModeCommand(mode)).Outcome);
        Assert.Equal(Outcome.Done, rig.Do(Supported).Outcome);
    }

    [Fact]
    public void Support_OfAnAxisThatHoldsNoLoad_IsRefused()
    {
        var rig = MachineRig.Ready(ProofMachine.With());
        MachineRig.AssertRefused(rig.Do(Supported), Refusal.NoHeldLoad, "dibber holds no load");
        MachineRig.AssertRefused(rig.Do(new ResetCommand([], LoadSupported: true)), Refusal.InvalidArgument, "no axis is named");
        rig.PortOf(Machines.Dibber).Fault(Machines.Dibber, FaultCode.BrakeSlip);
        rig.Step(2);
        MachineRig.AssertRefused(rig.Do(Supported), Refusal.NoHeldLoad, "dibber holds no load");
    }

    /// <summary>The port knows best: the load may have begun to move since.</summary>
    [Fact]
    public void Support_OfALoadThatStillMoves_IsRefusedByItsPort()
    {
        var rig = Holding();
        rig.Axis(Machines.Dibber).NextRefusal = Refusal.AxisBusy;
        MachineRig.AssertRefused(rig.Do(Supported), Refusal.AxisBusy, "load of dibber still moves");
    }

    [Fact]
    public void HeldLoad_IsWrittenDownUntilItIsLetGo()
    {
        var rig = Holding();
        Assert.True(Note(rig).LoadHeld);

        // A line that is lost tells nothing of the load.
        rig.Axis(Machines.Dibber).Now.Online = false;
        rig.Axis(Machines.Dibber).Now.Detail = AxisDetail.None;
        rig.Step(2);
        Assert.True(Note(rig).LoadHeld);
        (rig.Axis(Machines.Dibber).Now.Online, rig.Axis(Machines.Dibber).Now.Detail) = (true, AxisDetail.HoldingLoad);
        rig.Step(2);
        Assert.Equal(Outcome.Done, rig.Do(Supported).Outcome);
        rig.Step(2);
        Assert.False(Note(rig).LoadHeld);
        Assert.True(Note(rig).Failed);
    }

    [Fact]
    public void ShutDown_WithAHeldLoad_EndsAndTellsThatItIsLeftSo()
    {
        var rig = Holding();
        rig.Coordinator.BeginShutDown(rig.Now);
        rig.Run(500);
        var state = rig.Coordinator.ShutDown;
        Assert.True(state.IsStopped);
        var held = Assert.Single(state.LeftHeld);
        Assert.Contains("motor of dibber alone holds its load", held, StringComparison.Ordinal);
        Assert.Contains("may take its torque", held, StringComparison.Ordinal);
        Assert.True(rig.Axis(Machines.Dibber).Now.TorqueOn);
    }

    [Fact]
    public void HeldLoad_IsNeverRecoveredByItself()
    {
        var rig = Holding();
        rig.Run(30_000);
        Assert.Empty(Taken(rig));
        Assert.Empty(rig.Journal.Recoveries);
    }

    private static IEnumerable<AxisCommand> Taken(MachineRig rig) => rig.Axis(Machines.Dibber).Taken.SkipWhile(command => command.Kind != AxisCommandKind.ProveBrake).Skip(1);

    private static BrakeProofNote Note(MachineRig rig) => rig.Board.Proofs[Machines.Dibber].Read();

    private static MachineRig Holding()
    {
        var rig = MachineRig.Ready(ProofMachine.With());
        rig.Axis(Machines.Dibber).StepsPerCommand = int.MaxValue;
        rig.Submit(new ProveBrakeCommand([Machines.Dibber]));
        rig.Step(3);
        rig.PortOf(Machines.Dibber).Hold(Machines.Dibber);
        rig.Axis(Machines.Dibber).StepsPerCommand = 2;
        rig.Step(3);
        return rig;
    }
}

using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Modes;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using static Supervisor.Configuration.Machines.OutputState;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Outputs;

/// <summary>What a named output does by command, at a stop, disabling and fault, from the start, and when its place was lost.</summary>
public sealed class NamedOutputTests
{
    [Fact]
    public void Set_AxesReady_IsDoneOnceItsPlaceConfirms()
    {
        var rig = Rig(Out(Hold, Hold, Hold));
        var answer = rig.Do(new SetOutputCommand(-1, "pump", true));

        Assert.Equal((Outcome.Done, "pump is on"), (answer.Outcome, answer.Message));
        Assert.True(rig.Places[0].On);
        Assert.Equal(new OutputStatus("pump", "gpio:soc/pump", true, true, ""), Assert.Single(rig.Rig.Control.Status().Outputs));
        Assert.Equal(Outcome.Done, rig.Do(new SetOutputCommand(-1, "pump", false)).Outcome);
        Assert.False(rig.Places[0].On);
    }

    [Fact]
    public void Set_PlaceDoesNotFollow_FailsAndIsToldOnce()
    {
        var rig = Rig(Out(Hold, Hold, Hold));
        rig.Places[0].IsStuck = true;

        var answer = rig.Do(new SetOutputCommand(-1, "pump", true));

        Assert.Equal((Outcome.Failed, FaultCode.OutputNotConfirmed), (answer.Outcome, answer.Fault));
        rig.Run(5000);
        Assert.Equal([FaultCode.OutputNotConfirmed], rig.Rig.Journal.Faults.Select(fault => fault.Code));
        Assert.Equal(0, rig.Rig.Journal.Faults[0].Output);
    }

    [Fact]
    public void Set_PlaceGone_IsRefused()
    {
        var rig = Rig(Out(Hold, Hold, Hold));
        rig.Places[0].IsGone = true;
        rig.Step(2);

        MachineRig.AssertRefused(rig.Do(new SetOutputCommand(-1, "pump", true)), Refusal.OutputSilent, "pump", "gpio:soc/pump");
        Assert.Null(rig.Rig.Control.Status().Outputs[0].On);
    }

    [Fact]
    public void Set_UnknownName_NamesThoseThereAre() =>
        MachineRig.AssertRefused(Rig(Out(Hold, Hold, Hold)).Do(new SetOutputCommand(-1, "pomp", true)), Refusal.UnknownOutput, "pomp", "pump");

    [Fact]
    public void Set_WithoutAuthority_IsRefused()
    {
        var rig = Rig(Out(Hold, Hold, Hold));
        var ticket = rig.Rig.Control.Submit(new SetOutputCommand(-1, "pump", true), null);
        rig.Step(2);

        MachineRig.AssertRefused(MachineRig.Answer(ticket), Refusal.AuthorityHeldByAnother, "operator");
        Assert.False(rig.Places[0].On);
    }

    [Fact]
    public void Set_DriveOutputThatHasAName_FollowsTheNamesRules()
    {
        var named = Out(Off, Hold, Hold) with { Place = new OutputReference("drum.valve", OutputSource.Drive, Drum, 1), Axes = [Drum] };
        var rig = Rig(named);
        Assert.Equal(Outcome.Done, rig.Do(new SetOutputCommand(Drum, "valve", true)).Outcome);
        Assert.True(rig.Places[0].On);

        rig.Rig.Control.Submit(new StopCommand([Drum]), null);
        rig.Step(2);

        Assert.False(rig.Places[0].On);
        MachineRig.AssertRefused(rig.Do(new SetOutputCommand(Drum, "valve", true)), Refusal.OutputHeld, "pump", "drum is stopped");
    }

    [Theory]
    [InlineData(Off, Hold, Hold, false)]
    [InlineData(Hold, Off, Hold, true)]
    [InlineData(Hold, Hold, Off, true)]
    public void Stop_OfOneOfItsAxes_IsAsTheFileSaysAndDoesNotComeBackByItself(OutputState atStop, OutputState atDisable, OutputState atFault, bool stays)
    {
        var rig = Rig(Out(atStop, atDisable, atFault));
        rig.Do(new SetOutputCommand(-1, "pump", true));

        rig.Rig.Control.Submit(new StopCommand([Drum]), null);
        rig.Step(3);

        Assert.Equal(stays, rig.Places[0].On);
        if (!stays)
        {
            MachineRig.AssertRefused(rig.Do(new SetOutputCommand(-1, "pump", true)), Refusal.OutputHeld, "held off", "drum is stopped", "release drum");
            Assert.Equal("drum is stopped", rig.Rig.Control.Status().Outputs[0].HeldBecause);
        }

        Assert.Equal(Outcome.Done, rig.Do(new ReleaseCommand([Drum])).Outcome);
        rig.Run(200);
        Assert.Equal(stays, rig.Places[0].On);
        Assert.Equal(Outcome.Done, rig.Do(new SetOutputCommand(-1, "pump", true)).Outcome);
    }

    [Fact]
    public void Interlock_OpensAndIsReset_OffStaysOff()
    {
        var rig = Rig(Out(Off, Hold, Hold));
        rig.Do(new SetOutputCommand(-1, "pump", true));

        rig.Rig.Set("drum.input1", false);
        rig.Run(600);
        Assert.False(rig.Places[0].On);
        rig.Rig.Set("drum.input1", true);
        rig.Run(50);
        Assert.Equal(Outcome.Done, rig.Do(new ResetCommand([])).Outcome);
        rig.Run(200);

        Assert.False(rig.Places[0].On);
    }

    [Fact]
    public void Halt_OfOneOfItsAxes_IsNoStop()
    {
        var rig = Rig(Out(Off, Off, Off));
        rig.Do(new SetOutputCommand(-1, "pump", true));

        rig.Rig.Control.Submit(new HaltCommand([Drum]), null);
        rig.Run(100);

        Assert.True(rig.Places[0].On);
    }

    [Fact]
    public void Disable_OfOneOfItsAxes_IsAsTheFileSays()
    {
        var rig = Rig(Out(Hold, Off, Hold));
        rig.Do(new SetOutputCommand(-1, "pump", true));

        rig.Do(new DisableCommand([Drum]));
        rig.Step(2);

        Assert.False(rig.Places[0].On);
        MachineRig.AssertRefused(rig.Do(new SetOutputCommand(-1, "pump", true)), Refusal.OutputHeld, "drum is disabled", "enable drum");
    }

    /// <summary>A stop in category 1 ends disabled: "hold" at the stop says nothing against "off" once it is.</summary>
    [Fact]
    public void Fault_OfOneOfItsAxes_GoesBeforeStopAndDisable()
    {
        var rig = Rig(Out(Off, Off, On));
        Assert.False(rig.Places[0].On);

        rig.Rig.PortOf(Drum).Fault(Drum, FaultCode.OverCurrent);
        rig.Rig.Control.Submit(new StopCommand([Tray]), null);
        rig.Step(3);

        Assert.True(rig.Places[0].On);
        Assert.Equal("drum is faulted", rig.Rig.Control.Status().Outputs[0].HeldBecause);
        MachineRig.AssertRefused(rig.Do(new SetOutputCommand(-1, "pump", false)), Refusal.OutputHeld, "held on", "reset drum");
    }

    [Theory]
    [InlineData(Off, true, false)]
    [InlineData(On, false, true)]
    [InlineData(Hold, true, true)]
    [InlineData(Hold, false, false)]
    public void Start_IsAsTheFileSays(OutputState atStart, bool left, bool expected)
    {
        var rig = new OutputRig(With(Out(Hold, Hold, Hold) with { AtStart = atStart }), isReady: false);
        Assert.Equal(atStart == On, rig.Places[0].On);

        var board = new Runtime.MachineBoard(With(Out(Hold, Hold, Hold) with { AtStart = atStart }));
        var coordinator = new Coordinator(board, new FakeJournal());
        var place = new OutputRig.Place(board.Outputs.Cells[0]) { On = left };
        for (var step = 0; step < 10; step++)
        {
            coordinator.Step(TimeSpan.FromSeconds(1) + (MachineRig.Period * step));
            place.Step(TimeSpan.FromSeconds(1) + (MachineRig.Period * step));
        }

        Assert.Equal(expected, place.On);
        Assert.All(place.Given, given => Assert.Equal(expected, given));
    }

    [Fact]
    public void Lost_WhileOnAndFoundOff_StaysOffAndIsTold()
    {
        var rig = Rig(Out(Hold, Hold, Hold));
        rig.Do(new SetOutputCommand(-1, "pump", true));
        rig.Places[0].IsGone = true;
        rig.Run(100);
        rig.Places[0].On = false;
        rig.Places[0].Given.Clear();

        rig.Places[0].IsGone = false;
        rig.Run(100);

        Assert.False(rig.Places[0].On);
        Assert.DoesNotContain(true, rig.Places[0].Given);
        Assert.Equal([FaultCode.OutputChanged], rig.Rig.Journal.Faults.Select(fault => fault.Code));
        Assert.True(rig.Rig.Control.Status().Outputs[0].Confirmed);
    }

    [Fact]
    public void Lost_WhileOnAndFoundOn_StaysOnUntold()
    {
        var rig = Rig(Out(Hold, Hold, Hold));
        rig.Do(new SetOutputCommand(-1, "pump", true));
        rig.Places[0].IsGone = true;
        rig.Run(100);

        rig.Places[0].IsGone = false;
        rig.Run(100);

        Assert.True(rig.Places[0].On);
        Assert.Empty(rig.Rig.Journal.Faults);
    }

    [Fact]
    public void Lost_StoppedMeanwhile_IsOffWhenItComesBack()
    {
        var rig = Rig(Out(Off, Hold, Hold));
        rig.Do(new SetOutputCommand(-1, "pump", true));
        rig.Places[0].IsGone = true;
        rig.Run(100);
        rig.Rig.Control.Submit(new StopCommand([Drum]), null);
        rig.Run(100);

        rig.Places[0].IsGone = false;
        rig.Run(100);

        Assert.False(rig.Places[0].On);
    }

    [Fact]
    public void Changed_ByAnother_OffStaysAndOnIsSwitchedOff()
    {
        var rig = Rig(Out(Hold, Hold, Hold));
        rig.Do(new SetOutputCommand(-1, "pump", true));
        rig.Places[0].On = false;
        rig.Run(100);
        Assert.False(rig.Places[0].On);

        rig.Places[0].On = true;
        rig.Run(100);

        Assert.False(rig.Places[0].On);
        Assert.Equal([FaultCode.OutputChanged, FaultCode.OutputChanged], rig.Rig.Journal.Faults.Select(fault => fault.Code));
    }

    [Theory]
    [InlineData(Off, false)]
    [InlineData(Hold, true)]
    [InlineData(On, true)]
    public void ShutDown_AxesStopped_IsLeftAsAtTheLossOfTheDaemon(OutputState atLoss, bool expected)
    {
        var rig = Rig(Out(Hold, Hold, Hold, atLoss));
        rig.Do(new SetOutputCommand(-1, "pump", true));

        rig.Rig.Coordinator.BeginShutDown(rig.Rig.Now);
        rig.Run(200);

        Assert.True(rig.Rig.Coordinator.ShutDown.IsStopped);
        Assert.Equal(expected, rig.Places[0].On);
    }

    [Fact]
    public void ShutDown_OutputThatIsNotConfirmed_DoesNotHoldItUp()
    {
        var rig = Rig(Out(Hold, Hold, Hold, Off));
        rig.Do(new SetOutputCommand(-1, "pump", true));
        rig.Places[0].IsStuck = true;

        rig.Rig.Coordinator.BeginShutDown(rig.Rig.Now);
        rig.Run(300);
        Assert.False(rig.Rig.Coordinator.ShutDown.IsStopped);
        rig.Run(400);

        Assert.True(rig.Rig.Coordinator.ShutDown.IsStopped);
    }

    [Fact]
    public void Modes_AllPermitOutputs() => Assert.All(Enum.GetValues<MachineMode>(), mode => Assert.True(ModeTable.Permits(mode, ModeAct.SetOutput)));

    private static OutputDefinition Out(OutputState atStop, OutputState atDisable, OutputState atFault, OutputState atLoss = Hold) =>
        OutputRig.Output("pump", atStop, atDisable, atFault, atLoss, Off, Tray, Drum);

    private static MachineDefinition With(OutputDefinition output) => Seeder() with { Outputs = [output] };

    private static OutputRig Rig(OutputDefinition output) => new(With(output));
}

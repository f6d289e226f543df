using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Commands;

public sealed class ResetTests
{
    [Fact]
    public void Reset_NamedFaultedAxis_LeavesItDisabled()
    {
        var rig = MachineRig.Ready();
        rig.PortOf(Drum).Fault(Drum, FaultCode.OverTemperature);
        rig.Step();
        Assert.Equal(Outcome.Done, rig.Do(new ResetCommand([Drum])).Outcome);
        Assert.Equal((AxisState.Disabled, FaultCode.None), (rig.Axis(Drum).Now.State, rig.Axis(Drum).Now.Fault));
    }

    [Fact]
    public void Reset_NamedAxisWithoutFault_IsRefused()
    {
        var rig = MachineRig.Ready();
        MachineRig.AssertRefused(rig.Do(new ResetCommand([Drum])), Refusal.NotFaulted, "drum");
    }

    [Fact]
    public void Reset_NamedAxisHeldByTheGuard_TellsWhereTheButtonIs()
    {
        var rig = MachineRig.Ready();
        rig.SetAndSee("gantry.input1", false);
        rig.SetAndSee("gantry.input1", true);
        MachineRig.AssertRefused(rig.Do(new ResetCommand([Gantry])), Refusal.InterlockResetElsewhere, "gantry", "front guard", "tray.input3");
    }

    [Fact]
    public void Reset_Plain_ResetsEveryFaultAndTheClosedProcessInterlock()
    {
        var rig = MachineRig.Ready();
        rig.Set("drum.input1", false);
        rig.Run(600);
        rig.SetAndSee("drum.input1", true);
        rig.PortOf(Tray).Fault(Tray, FaultCode.UnderVoltage);
        rig.Step();
        Assert.True(rig.Interlock(Vacuum).NeedsReset);

        Assert.Equal(Outcome.Done, rig.Do(new ResetCommand([])).Outcome);
        Assert.Equal(AxisState.Disabled, rig.Axis(Tray).Now.State);
        Assert.False(rig.Interlock(Vacuum).NeedsReset);
        Assert.Equal("operator", rig.Journal.Interlocks[^1].Inputs);
    }

    [Fact]
    public void Reset_PlainWithOnlyTheGuardToReset_TellsWhereTheButtonIs()
    {
        var rig = MachineRig.Ready();
        rig.SetAndSee("gantry.input1", false);
        MachineRig.AssertRefused(rig.Do(new ResetCommand([])), Refusal.InterlockResetElsewhere, "front guard", "gantry.input1", "close it", "tray.input3");
        rig.SetAndSee("gantry.input1", true);
        MachineRig.AssertRefused(rig.Do(new ResetCommand([])), Refusal.InterlockResetElsewhere, "front guard", "press and release", "tray.input3");
        Assert.True(rig.Board.Latch.IsStanding(Runtime.Stops.StopCauses.Interlock(Guard)));
    }

    [Fact]
    public void Reset_PlainWithAnOpenGuardAndAFault_ResetsTheFault()
    {
        var rig = MachineRig.Ready();
        rig.SetAndSee("gantry.input1", false);
        rig.PortOf(Drum).Fault(Drum, FaultCode.OverTemperature);
        rig.Step();
        Assert.Equal(Outcome.Done, rig.Do(new ResetCommand([])).Outcome);
        Assert.True(rig.Interlock(Guard).Open);
    }

    [Fact]
    public void Reset_PlainWithAnOpenProcessInterlock_NamesItsInput()
    {
        var rig = MachineRig.Ready();
        rig.Set("drum.input1", false);
        rig.Run(600);
        MachineRig.AssertRefused(rig.Do(new ResetCommand([])), Refusal.InterlockOpen, "vacuum", "drum.input1");
    }

    [Fact]
    public void Reset_PlainWithNothingToReset_IsRefused()
    {
        var rig = MachineRig.Ready();
        MachineRig.AssertRefused(rig.Do(new ResetCommand([])), Refusal.NotFaulted, "nothing is to reset");
    }

    [Fact]
    public void Reset_CauseStillThere_TellsTheFaultAndItsRemedy()
    {
        var rig = MachineRig.Ready();
        rig.PortOf(Drum).Fault(Drum, FaultCode.UnderVoltage);
        rig.Step();
        rig.Axis(Drum).NextRefusal = Refusal.CauseStillPresent;
        MachineRig.AssertRefused(rig.Do(new ResetCommand([Drum])), Refusal.CauseStillPresent, "drum", "under-voltage", "motor supply");
    }

    [Fact]
    public void Reset_OfAnAxisThatIsStillBeingStopped_IsRefused()
    {
        var rig = MachineRig.Ready();
        rig.PortOf(Drum).Fault(Drum, FaultCode.UnderVoltage);
        rig.Axis(Drum).Now.Detail = AxisDetail.Stopping;
        rig.Step();
        MachineRig.AssertRefused(rig.Do(new ResetCommand([Drum])), Refusal.AxisBusy, "drum", "wait");
    }

    [Fact]
    public void Reset_OfAProcessInterlockWithAButtonOfItsOwn_IsRefused()
    {
        var rig = MachineRig.Ready(Seeder(interlocks: all => [all[0], all[1], all[2] with { ResetInput = all[0].ResetInput }]));
        rig.Set("drum.input1", false);
        rig.Run(600);
        rig.SetAndSee("drum.input1", true);
        MachineRig.AssertRefused(rig.Do(new ResetCommand([])), Refusal.InterlockResetElsewhere, "vacuum", "tray.input3");
        rig.PressReset(150);
        Assert.False(rig.Interlock(Vacuum).NeedsReset);
    }
}

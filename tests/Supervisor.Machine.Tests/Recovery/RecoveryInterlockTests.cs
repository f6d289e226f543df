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

/// <summary>Where an interlock was opened, or is only silent with the line.</summary>
public sealed class RecoveryInterlockTests
{
    [Fact]
    public void InterlockSilentWithTheLine_AfterItsResetOnlyTheFaultIsReset()
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule()], interlocks: all => [all[0] with { Inputs = [Input(Drum, "drum.input1")], Discrepancy = null }]));
        rig.Axis(Drum).Now.Online = false;
        rig.PortOf(Dibber).SetOnline(Dibber, false);
        rig.Run(1000);
        rig.Axis(Drum).Now.Online = rig.Axis(Dibber).Now.Online = true;
        rig.Run(5000);
        Assert.Equal((false, true), (rig.Interlock(0).Open, rig.Interlock(0).NeedsReset));
        Assert.Empty(rig.Axis(Dibber).Taken);

        rig.PressReset(150);
        rig.Run(900);
        Assert.Empty(rig.Axis(Dibber).Taken);
        rig.Run(10_000);
        Assert.Equal(AxisState.Disabled, rig.Axis(Dibber).Now.State);
        Assert.Equal(FaultCode.None, rig.Axis(Dibber).Now.Fault);
        AssertTold(rig, RecoveryChange.Begun, RecoveryChange.Succeeded);
        Assert.Contains("for a person to command", rig.Journal.Recoveries[^1].What, StringComparison.Ordinal);
    }

    [Fact]
    public void InterlockReallyOpened_CancelsAndItsResetStartsNothing()
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule()]));
        rig.PortOf(Dibber).SetOnline(Dibber, false);
        rig.Run(500);
        rig.SetAndSee("gantry.input1", false);
        rig.SetAndSee("gantry.input1", true);
        rig.Axis(Dibber).Now.Online = true;
        rig.PressReset(150);
        rig.Run(10_000);
        Assert.Empty(rig.Axis(Dibber).Taken);
        AssertTold(rig, RecoveryChange.Begun, RecoveryChange.Cancelled);
        Assert.Contains("front guard", rig.Journal.Recoveries[^1].What, StringComparison.Ordinal);
    }

    [Fact]
    public void InterlockOpenAtTheFault_BeginsNothing()
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule()], interlocks: all => [all[0], all[1] with { StopCategory = 2 }, all[2]]));
        rig.SetAndSee("gantry.input1", false);
        Lose(rig, Dibber);
        rig.SetAndSee("gantry.input1", true);
        rig.PressReset(150);
        rig.Run(10_000);
        Assert.Empty(rig.Axis(Dibber).Taken);
        AssertTold(rig, RecoveryChange.NotBegun);
    }

    [Fact]
    public void InterlockOpenedAndClosedShortlyBeforeTheFault_BeginsNothing()
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule()]));
        rig.SetAndSee("gantry.input1", false);
        rig.SetAndSee("gantry.input1", true);
        rig.Axis(Dibber).Now.State = AxisState.Moving;
        Lose(rig, Dibber);
        rig.PressReset(150);
        rig.Run(10_000);
        Assert.Empty(rig.Axis(Dibber).Taken);
        AssertTold(rig, RecoveryChange.NotBegun);
    }

    [Fact]
    public void EmergencyStopThatTakesTheDrivesSupply_BeginsNothing()
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule()], interlocks: all =>
            [all[0] with { Inputs = [Input(Dibber, "dibber.input1")], Discrepancy = null }]));
        rig.SetAndSee("dibber.input1", false);
        rig.Axis(Dibber).Now.State = AxisState.Moving;
        rig.PortOf(Dibber).SetOnline(Dibber, false);
        rig.Run(1000);
        rig.Axis(Dibber).Now.Online = true;
        rig.SetAndSee("dibber.input1", true);
        rig.PressReset(150);
        rig.Run(10_000);
        Assert.Empty(rig.Axis(Dibber).Taken);
        AssertTold(rig, RecoveryChange.NotBegun);
    }

    [Fact]
    public void FaultBeforeTheFirstResetAfterTheStart_BeginsNothing()
    {
        var rig = new MachineRig(Seeder(dibberRecovery: [LinkRule()]));
        rig.Axis(Dibber).Now.State = AxisState.Moving;
        rig.Axis(Dibber).ObeysStops = false;
        rig.Run(50);
        Lose(rig, Dibber);
        rig.PressReset(150);
        rig.Run(10_000);
        Assert.Empty(rig.Axis(Dibber).Taken);
        AssertTold(rig, RecoveryChange.NotBegun);
    }

    [Fact]
    public void InterlockOpenedWhileItHomes_EndsIt()
    {
        var rig = MachineRig.Ready(Seeder(dibberRecovery: [LinkRule()]));
        Lose(rig, Dibber);
        rig.Run(990);
        rig.Axis(Dibber).StepsPerCommand = 40;
        rig.Run(300);
        Assert.Equal(AxisState.Homing, rig.Axis(Dibber).Now.State);
        rig.SetAndSee("gantry.input1", false);
        rig.SetAndSee("gantry.input1", true);
        rig.PressReset(150);
        rig.Run(10_000);
        Assert.Equal([AxisCommandKind.Reset, AxisCommandKind.Home], rig.Axis(Dibber).Taken.Select(command => command.Kind));
        Assert.Equal(AxisState.Disabled, rig.Axis(Dibber).Now.State);
    }
}

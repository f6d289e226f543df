using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Faults;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Interlocks;

public sealed class DiscrepancyTests
{
    [Fact]
    public void ChannelsDifferShortly_TripsWithoutAFault()
    {
        var rig = MachineRig.Ready();
        rig.Set("tray.input1", false);
        rig.Run(90);
        rig.SetAndSee("tray.input1", true);
        rig.PressReset(150);
        Assert.Empty(rig.Journal.Faults);
        Assert.False(rig.Interlock(EmergencyStop).NeedsReset);
    }

    [Fact]
    public void ChannelsDifferTooLong_LatchesAFaultOnce()
    {
        var rig = MachineRig.Ready();
        rig.Set("tray.input2", false);
        rig.Run(1000);
        Assert.Equal(FaultCode.ChannelDiscrepancy, Assert.Single(rig.Journal.Faults).Code);
        Assert.Equal([InterlockChange.Opened, InterlockChange.Discrepancy], rig.Journal.ChangesOf(EmergencyStop));
        Assert.Contains("disagreed", rig.Interlock(EmergencyStop).WhatToDo, StringComparison.Ordinal);
    }

    [Fact]
    public void Latched_ResetsOnlyAfterBothWereOpenTogetherThenClosed()
    {
        var rig = MachineRig.Ready();
        rig.Set("tray.input2", false);
        rig.Run(200);
        rig.SetAndSee("tray.input2", true);
        rig.PressReset(150);
        Assert.True(rig.Interlock(EmergencyStop).NeedsReset);

        rig.Set("tray.input1", false);
        rig.Set("tray.input2", false);
        rig.Run(200);
        rig.PressReset(150);
        Assert.True(rig.Interlock(EmergencyStop).NeedsReset);

        rig.Set("tray.input1", true);
        rig.SetAndSee("tray.input2", true);
        rig.PressReset(150);
        Assert.False(rig.Interlock(EmergencyStop).NeedsReset);
    }

    [Fact]
    public void Latched_SilenceOfBothIsNoProof()
    {
        var rig = MachineRig.Ready();
        rig.Set("tray.input2", false);
        rig.Run(200);
        rig.SetAndSee("tray.input2", true);
        rig.Ports[0].Steps = false;
        rig.Run(500);
        rig.Ports[0].Steps = true;
        rig.Run(50);
        rig.PressReset(150);
        Assert.True(rig.Interlock(EmergencyStop).NeedsReset);
    }

    [Fact]
    public void BothOpenBeforeTheDifference_IsNoProofForIt()
    {
        var rig = MachineRig.Ready();
        rig.Set("tray.input1", false);
        rig.Set("tray.input2", false);
        rig.Run(50);
        rig.Set("tray.input1", true);
        rig.Run(200);
        rig.SetAndSee("tray.input2", true);
        rig.PressReset(150);
        Assert.True(rig.Interlock(EmergencyStop).NeedsReset);
    }

    [Fact]
    public void OneChannelSilent_IsNoDiscrepancy()
    {
        var machine = Seeder(interlocks: all => [all[0] with { Inputs = [Input(Tray, "tray.input1"), Input(Drum, "drum.input2")] }, all[1], all[2]]);
        var rig = MachineRig.Ready(machine);
        rig.Ports[1].Steps = false;
        rig.Run(1000);
        Assert.True(rig.Interlock(EmergencyStop).Open);
        Assert.Empty(rig.Journal.Faults);
    }
}

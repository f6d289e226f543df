using Supervisor.Machine.Tests.Rig;
using Supervisor.Runtime.Stops;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Interlocks;

/// <remarks>Reset on release, not on a held or bridged actuator: ISO 13849-1, 5.2.2 (value from memory). The 100 ms are the machine file's rule.</remarks>
public sealed class ResetButtonTests
{
    [Theory]
    [InlineData(95, true)]
    [InlineData(100, false)]
    [InlineData(3000, false)]
    public void Press_OfThatLength_LeavesTheInterlockUnreset(double ms, bool needsReset)
    {
        var rig = new MachineRig();
        rig.Run(50);
        rig.PressReset(ms);
        Assert.Equal(needsReset, rig.Interlock(EmergencyStop).NeedsReset);
    }

    [Fact]
    public void Press_ActsOnReleaseOnly()
    {
        var rig = new MachineRig();
        rig.Run(50);
        rig.Set("tray.input3", true);
        rig.Run(1000);
        Assert.True(rig.Interlock(EmergencyStop).NeedsReset);
        rig.SetAndSee("tray.input3", false);
        Assert.False(rig.Interlock(EmergencyStop).NeedsReset);
    }

    [Fact]
    public void StuckFromTheStart_NeverResets_EvenWhenLetGo()
    {
        var rig = new MachineRig();
        rig.Set("tray.input3", true);
        rig.Run(1000);
        rig.SetAndSee("tray.input3", false);
        rig.Run(200);
        Assert.True(rig.Interlock(EmergencyStop).NeedsReset);

        rig.PressReset(150);
        Assert.False(rig.Interlock(EmergencyStop).NeedsReset);
    }

    [Fact]
    public void PressedWhileOpen_ResetsTheClosedOnesOnly_AndIsNotRemembered()
    {
        var rig = new MachineRig();
        rig.Set("gantry.input1", false);
        rig.Run(50);
        rig.PressReset(150);
        Assert.False(rig.Interlock(EmergencyStop).NeedsReset);
        Assert.True(rig.Interlock(Guard).NeedsReset);

        rig.SetAndSee("gantry.input1", true);
        rig.Run(500);
        Assert.True(rig.Interlock(Guard).NeedsReset);
    }

    [Fact]
    public void ClosedDuringThePress_IsNotReset()
    {
        var rig = new MachineRig();
        rig.Set("gantry.input1", false);
        rig.Run(50);
        rig.Set("tray.input3", true);
        rig.Run(200);
        rig.Set("gantry.input1", true);
        rig.Run(200);
        rig.SetAndSee("tray.input3", false);
        Assert.True(rig.Interlock(Guard).NeedsReset);
    }

    [Fact]
    public void SilentDuringThePress_IsNoPress()
    {
        var rig = new MachineRig();
        rig.Run(50);
        rig.Set("tray.input3", true);
        rig.Run(200);
        rig.Ports[0].Steps = false;
        rig.Run(400);
        rig.Ports[0].Steps = true;
        rig.SetAndSee("tray.input3", false);
        Assert.True(rig.Interlock(EmergencyStop).NeedsReset);
    }

    [Fact]
    public void ReleaseAndPressBetweenTwoLooks_BeginsThePressAnew()
    {
        var rig = new MachineRig();
        rig.Run(50);
        rig.Set("tray.input3", true);
        rig.Run(90);

        // The port sees a release and a new press while the coordinator does not look.
        var cell = rig.Board.Inputs.IndexOf(rig.Board.Machine.Interlocks[EmergencyStop].ResetInput!);
        rig.Board.Inputs.Write(cell, false, rig.Now);
        rig.Run(50);
        rig.SetAndSee("tray.input3", false);
        Assert.True(rig.Interlock(EmergencyStop).NeedsReset);
    }

    [Fact]
    public void SilentButtonOnAnotherDrive_IsNoPress()
    {
        var rig = new MachineRig(Seeder(interlocks: all => [all[0] with { ResetInput = Input(Drum, "drum.input3") }, all[1], all[2]]));
        rig.Run(50);
        rig.Set("drum.input3", true);
        rig.Run(200);
        rig.Ports[1].Steps = false;
        rig.Run(400);
        rig.Ports[1].Steps = true;
        rig.SetAndSee("drum.input3", false);
        Assert.True(rig.Interlock(EmergencyStop).NeedsReset);

        rig.Set("drum.input3", true);
        rig.Run(150);
        rig.SetAndSee("drum.input3", false);
        Assert.False(rig.Interlock(EmergencyStop).NeedsReset);
    }

    [Fact]
    public void TripBetweenTheLookAndTheReset_Survives()
    {
        var rig = MachineRig.Ready();
        rig.SetAndSee("gantry.input1", false);
        rig.SetAndSee("gantry.input1", true);
        rig.Set("drum.input1", false);
        rig.Run(490);
        rig.Set("tray.input3", true);
        rig.Set("drum.input1", true);
        rig.Run(150);
        rig.Set("drum.input1", false);
        rig.Run(500);

        // The vacuum is looked at after the guard, and trips in the very step of the release.
        var tripped = false;
        rig.Journal.OnInterlock = interlock =>
        {
            if (interlock == Vacuum && !tripped)
            {
                tripped = true;
                rig.Board.Latch.Trip(StopCauses.Interlock(Guard));
            }
        };
        rig.Set("tray.input3", false);
        rig.Step();

        Assert.True(tripped);
        Assert.Equal((Guard, InterlockChange.Reset), (rig.Journal.Interlocks[^1].Interlock, rig.Journal.Interlocks[^1].Change));
        Assert.True(rig.Board.Latch.IsStanding(StopCauses.Interlock(Guard)));
    }

    [Fact]
    public void TripDuringTheRelease_Survives()
    {
        var rig = MachineRig.Ready();
        rig.SetAndSee("gantry.input1", false);
        rig.SetAndSee("gantry.input1", true);
        rig.Set("tray.input3", true);
        rig.Run(150);
        rig.SetAndSee("gantry.input1", false);
        rig.SetAndSee("gantry.input1", true);
        rig.SetAndSee("tray.input3", false);
        Assert.True(rig.Interlock(Guard).NeedsReset);
    }
}

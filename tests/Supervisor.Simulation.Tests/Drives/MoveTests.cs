using Supervisor.Configuration.Machines;
using Supervisor.Simulation.Tests.Support;

namespace Supervisor.Simulation.Tests.Drives;

public sealed class MoveTests
{
    [Fact]
    public void Home_NegativeLimitSwitch_CountsTellTheMachinePosition()
    {
        var rig = new Rig();
        rig.Enable();
        rig.Home();
        Assert.Equal(1, rig.Get("homed"));
        Assert.True(Math.Abs(rig.Get("position") - (rig.Drive.Plant.Position * 1000)) <= 1, "counts and machine differ");
    }

    [Fact]
    public void Move_ProfilePosition_ArrivesWithBoundedLag()
    {
        var rig = new Rig();
        rig.Enable();
        rig.Home();
        double largest = 0;
        double fastest = 0;
        rig.MoveTo(120_000);
        Assert.Equal(0, rig.Statusword & 0x400);
        bool arrived = rig.Until(() => (rig.Statusword & 0x400) != 0, 5000, () =>
        {
            largest = Math.Max(largest, Math.Abs(rig.Drive.FollowingError));
            fastest = Math.Max(fastest, rig.Drive.Plant.Velocity);
        });
        Assert.True(arrived);
        Assert.InRange(rig.Drive.Plant.Position, 119.9, 120.1);
        Assert.InRange(fastest, 240, 260);
        // There is a lag, and it stays below what the machine file allows.
        Assert.InRange(largest, 50, 2000);
        rig.Pass(500);
        Assert.InRange(rig.Get("position"), 119_995, 120_005);
        Assert.Equal(0, rig.Drive.ErrorCode);
    }

    [Fact]
    public void Move_HangingAxisWithMovingTorqueLimit_Arrives()
    {
        var rig = new Rig(Definitions.Hanging() with { Torque = new TorqueDefinition(30, 100, 60, 25, 150) });
        rig.Set("torqueLimit", 30);
        rig.Enable();
        rig.Home();
        rig.Set("torqueLimit", 100);
        foreach (double target in new double[] { 150_000, 5_000, 179_000 })
        {
            rig.MoveTo(target);
            double largest = 0;
            Assert.True(rig.Until(() => (rig.Statusword & 0x400) != 0, 5000, () => largest = Math.Max(largest, Math.Abs(rig.Drive.FollowingError))), $"{target} not reached");
            Assert.InRange(largest, 10, 2000);
        }
    }
}

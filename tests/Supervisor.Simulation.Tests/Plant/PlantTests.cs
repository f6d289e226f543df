using Supervisor.Configuration.Machines;
using Supervisor.Simulation.Drives;
using Supervisor.Simulation.Plant;
using Supervisor.Simulation.Tests.Support;

namespace Supervisor.Simulation.Tests.Plant;

public sealed class PlantTests
{
    [Fact]
    public void TorqueLimit_Low_StallsInTheMaterialWithoutFault()
    {
        // Coming from above with 25 % of rated torque, the material must hold it and the drive must go on pressing.
        var axis = Definitions.Hanging() with { Torque = new TorqueDefinition(30, 100, 60, 25, 150) };
        var rig = Homed(axis);
        rig.Set("torqueLimit", 25);
        rig.Set("profileVelocity", 30_000);
        rig.MoveTo(22_000);
        rig.Pass(1500);
        double torque = rig.Get("torque");
        Assert.Equal(25, torque, 0.11);
        Assert.InRange(rig.Drive.Plant.Position, 14.4, 20);
        Assert.Equal(0x0800, rig.Statusword & 0x0800);
        Assert.Equal(0, rig.Drive.ErrorCode);

        // With the limit of a plain move it goes through.
        rig.Set("torqueLimit", 100);
        rig.MoveTo(60_000);
        Assert.True(rig.Until(() => (rig.Statusword & 0x400) != 0, 5000), $"{rig.Drive.Plant.Position} {rig.Drive.ErrorCode:X4}");
    }

    [Fact]
    public void TorqueLimit_BelowWhatTheRampNeeds_LagsBehind()
    {
        var rig = Homed();
        rig.Set("torqueLimit", 20);
        rig.MoveTo(150_000);
        rig.Pass(100);
        Assert.Equal(20, rig.Get("torque"), 0.11);
        Assert.True(rig.Drive.FollowingError > 2000);
    }

    [Fact]
    public void Jam_InMotion_TorqueRisesThenTripsFollowingError()
    {
        var rig = Homed();
        rig.MoveTo(150_000);
        Assert.True(rig.Until(() => rig.Drive.Plant.Position > 40, 2000));
        rig.Drive.Plant.Jammed = true;
        double torque = 0;
        Assert.True(rig.Until(() => rig.Drive.IsFaulted, 1000, () => torque = Math.Max(torque, rig.Drive.Plant.Torque)));
        Assert.Equal(rig.Drive.Plant.Settings.MaximumTorque, torque, 1.0);
        Assert.Equal(0x8611, rig.Drive.ErrorCode);
        rig.Drive.Plant.Jammed = false;
        rig.Pass(500);
        Assert.InRange(rig.Drive.Plant.Position, 39, 42);
        Assert.Equal(0x08, rig.Statusword & 0x4F);
    }

    [Fact]
    public void Jam_SmallMove_TripsMotorBlocked()
    {
        var rig = Homed();
        rig.MoveTo(60_000);
        Assert.True(rig.Until(() => (rig.Statusword & 0x400) != 0, 3000));
        rig.Drive.Plant.Jammed = true;
        rig.MoveTo(63_000); // less than the following-error window
        Assert.True(rig.Until(() => rig.Drive.IsFaulted, 5000));
        Assert.Equal(0x7121, rig.Drive.ErrorCode);
    }

    [Theory]
    [InlineData(-100_000)]
    [InlineData(400_000)]
    public void HardStop_MoveBeyond_HoldsAndTrips(double target)
    {
        var rig = Homed();
        rig.MoveTo(target);
        Assert.True(rig.Until(() => rig.Drive.IsFaulted, 5000));
        var plant = rig.Drive.Plant.Settings;
        Assert.InRange(rig.Drive.Plant.PositionCounts, plant.LowerStop!.Value, plant.UpperStop!.Value);
        Assert.True(plant.LowerStop < 0 && plant.UpperStop > 180_000, "stops must lie beyond the permitted range");
        Assert.Equal(0x8611, rig.Drive.ErrorCode);
    }

    [Fact]
    public void Brake_TorqueOff_HoldsTheLoad()
    {
        var rig = new Rig(Definitions.Hanging());
        double before = rig.Drive.Plant.Position;
        rig.Pass(3000);
        Assert.Equal(before, rig.Drive.Plant.Position);
        Assert.True(rig.Drive.Plant.BrakeClosed);
    }

    [Fact]
    public void Brake_Enable_OpensAfterItsReleaseTime()
    {
        var rig = new Rig(Definitions.Hanging());
        rig.Set("mode", 1);
        rig.Set("controlword", 0x06);
        rig.Set("controlword", 0x07);
        rig.Write("controlword", 0x0F);
        rig.Pass(70);
        Assert.True(rig.Drive.Plant.Powered);
        Assert.True(rig.Drive.Plant.BrakeClosed);
        rig.Pass(20);
        Assert.False(rig.Drive.Plant.BrakeClosed);
        double before = rig.Drive.Plant.Position;
        rig.Pass(1000);
        Assert.Equal(before, rig.Drive.Plant.Position, 0.1);
    }

    [Fact]
    public void Brake_DisableOperation_ClosesUnderTorqueAndNothingSinks()
    {
        var rig = Homed(Definitions.Hanging());
        rig.MoveTo(60_000);
        Assert.True(rig.Until(() => (rig.Statusword & 0x400) != 0, 3000));
        rig.Pass(200);
        double before = rig.Drive.Plant.Position;
        rig.Set("controlword", 0x07);
        Assert.True(rig.Drive.Plant.Powered, "torque went before the brake held");
        Assert.Equal(0x27, rig.Statusword & 0x6F);
        rig.Pass(100);
        Assert.Equal(0x23, rig.Statusword & 0x6F);
        Assert.False(rig.Drive.Plant.Powered);
        Assert.True(rig.Drive.Plant.BrakeClosed);
        rig.Pass(1000);
        Assert.Equal(before, rig.Drive.Plant.Position, 0.05);
    }

    [Fact]
    public void Brake_DisableVoltage_SinksUntilTheBrakeHolds()
    {
        var rig = Homed(Definitions.Hanging());
        rig.MoveTo(60_000);
        Assert.True(rig.Until(() => (rig.Statusword & 0x400) != 0, 3000));
        rig.Pass(200);
        double before = rig.Drive.Plant.Position;
        rig.Set("controlword", 0x00);
        Assert.False(rig.Drive.Plant.Powered);
        rig.Pass(100);
        double sunk = rig.Drive.Plant.Position - before;
        Assert.True(sunk > 0.2, $"sank {sunk} mm only");
        double then = rig.Drive.Plant.Position;
        rig.Pass(1000);
        Assert.Equal(then, rig.Drive.Plant.Position, 0.5);
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Gravity_NoBrakeOrAWornOne_SinksToTheHardStop(bool worn)
    {
        var axis = worn ? Definitions.Hanging() : Definitions.Hanging() with { Brake = null };
        var rig = Homed(axis);
        rig.Drive.Plant.BrakeWorn = worn;
        rig.Set("controlword", 0x00);
        rig.Pass(5000);
        Assert.True(rig.Drive.Plant.AtHardStop);
        Assert.True(rig.Drive.Plant.Position > 180, "it sinks away from the end it is homed at");
    }

    [Fact]
    public void Gravity_AxisWithoutLoad_StaysWhereItIs()
    {
        var rig = Homed();
        rig.Set("controlword", 0x00);
        double before = rig.Drive.Plant.Position;
        rig.Pass(3000);
        Assert.Equal(before, rig.Drive.Plant.Position, 0.2);
    }

    [Fact]
    public void Brake_MoveAgainstIt_TripsInsteadOfMoving()
    {
        var rig = Homed(Definitions.Hanging());
        rig.Set("torqueLimit", 100);
        rig.Set("controlword", 0x07);
        rig.Pass(200);
        double before = rig.Drive.Plant.Position;
        rig.Set("targetPosition", 150_000);
        rig.Write("controlword", 0x0F);
        rig.Pass(1.5);
        rig.Write("controlword", 0x3F);
        rig.Pass(60);
        Assert.True(rig.Drive.Plant.BrakeClosed);
        Assert.Equal(before, rig.Drive.Plant.Position, 0.05);
        Assert.True(rig.Drive.FollowingError > 500);
    }

    [Fact]
    public void StartPosition_OtherNameOrSeed_Differs()
    {
        double one = new SimulatedDrive(Definitions.Axis()).Plant.Position;
        Assert.Equal(one, new SimulatedDrive(Definitions.Axis()).Plant.Position);
        Assert.NotEqual(one, new SimulatedDrive(Definitions.Axis(), null, 2).Plant.Position);
        Assert.NotEqual(one, new SimulatedDrive(Definitions.Axis(name: "gantry")).Plant.Position);
        Assert.InRange(one, 1, 179);
    }

    [Fact]
    public void Endless_ManyTurns_NeverMeetsAnEnd()
    {
        var rig = new Rig(Definitions.Drum());
        rig.Enable();
        for (int turn = 1; turn <= 3; turn++)
        {
            rig.MoveTo(turn * 360 * 100 * 2);
            Assert.True(rig.Until(() => (rig.Statusword & 0x400) != 0, 10_000));
        }

        Assert.InRange(rig.Get("position"), 215_950, 216_050);
    }

    private static Rig Homed(AxisDefinition? axis = null)
    {
        var rig = new Rig(axis);
        rig.Enable();
        rig.Home();
        return rig;
    }
}

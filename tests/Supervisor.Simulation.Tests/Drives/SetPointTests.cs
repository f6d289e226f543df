using Supervisor.Simulation.Drives;
using Supervisor.Simulation.Tests.Support;

namespace Supervisor.Simulation.Tests.Drives;

/// <summary>Profile position, CiA 402: controlword bits 4 new set-point, 5 change immediately, 6 relative, 8 halt; statusword 10, 12 (values from memory).</summary>
public sealed class SetPointTests
{
    private const int Acknowledged = 0x1000;
    private const int Reached = 0x0400;

    [Fact]
    public void Handshake_RaiseThenDrop_Bit12Follows()
    {
        var rig = Homed();
        Assert.Equal(0, rig.Statusword & Acknowledged);
        rig.Set("targetPosition", 50_000);
        Assert.False(Moves(rig), "moved without a set-point");
        rig.Set("controlword", 0x1F);
        Assert.Equal(Acknowledged, rig.Statusword & Acknowledged);
        rig.Pass(50);
        Assert.Equal(Acknowledged, rig.Statusword & Acknowledged);
        rig.Set("controlword", 0x0F);
        Assert.Equal(0, rig.Statusword & Acknowledged);
        Assert.True(Moves(rig));
    }

    [Fact]
    public void SetPoint_Bit4LeftUp_TakesNoSecondTarget()
    {
        var rig = Homed();
        rig.Set("targetPosition", 50_000);
        rig.Set("controlword", 0x3F);
        rig.Set("targetPosition", 10_000);
        rig.Set("controlword", 0x3F);
        Assert.True(rig.Until(() => (rig.Statusword & Reached) != 0, 3000));
        Assert.InRange(rig.Drive.Plant.Position, 49.9, 50.1);
    }

    [Fact]
    public void Acted_EachEdgeThatIsTaken_IsToldOnce()
    {
        var rig = Homed();
        var acts = new List<DriveAct>();
        rig.Drive.Acted = acts.Add;
        rig.Set("targetPosition", 50_000);
        rig.Set("controlword", 0x3F);
        rig.Set("controlword", 0x3F);
        rig.Pass(20);
        Assert.Equal([DriveAct.SetPoint], acts);

        // The same target once more is another set-point all the same.
        rig.Set("controlword", 0x2F);
        rig.Pass(20);
        rig.Set("controlword", 0x3F);
        rig.Pass(20);
        Assert.Equal([DriveAct.SetPoint, DriveAct.SetPoint], acts);

        // A reset of what is no fault clears nothing.
        rig.Set("controlword", 0x8F);
        rig.Pass(20);
        rig.Drive.Trip(0x2310);
        rig.Set("controlword", 0x00);
        Assert.True(rig.Until(() => rig.Drive.StateName == "Fault", 3000));
        rig.Set("controlword", 0x80);
        rig.Pass(20);
        Assert.Equal([DriveAct.SetPoint, DriveAct.SetPoint, DriveAct.FaultClear], acts);
    }

    [Fact]
    public void SetPoint_NotImmediate_WaitsForTheActiveOne()
    {
        var rig = Homed();
        rig.MoveTo(50_000, 0);
        rig.Set("targetPosition", 20_000);
        rig.Set("controlword", 0x1F);
        rig.Set("controlword", 0x0F);
        Assert.Equal(Acknowledged, rig.Statusword & Acknowledged);
        double furthest = 0;
        Assert.True(rig.Until(() => (rig.Statusword & Reached) != 0, 5000, () => furthest = Math.Max(furthest, rig.Drive.Plant.Position)));
        Assert.InRange(furthest, 49.8, 50.2);
        Assert.InRange(rig.Drive.Plant.Position, 19.9, 20.1);
        Assert.Equal(0, rig.Statusword & Acknowledged);
    }

    [Fact]
    public void SetPoint_HaltedBeforeTheDrivesNextStep_IsTakenAsItsOwnWordSaysAndLeavesRoomForTheNext()
    {
        var rig = Homed();
        rig.MoveTo(150_000);
        Assert.True(rig.Until(() => rig.Drive.Plant.Position > 40, 3000));
        rig.Set("targetPosition", 20_000);

        // Both words within one step of the drive: a new set-point at once, then a halt.
        Assert.Equal(0, rig.Write("controlword", 0x3F));
        Assert.Equal(0, rig.Write("controlword", 0x10F));
        rig.Pass(500);
        Assert.Equal(0, rig.Statusword & Acknowledged);
        Assert.False(Moves(rig), "moves though halted");
        rig.MoveTo(60_000);
        Assert.True(rig.Until(() => (rig.Statusword & Reached) != 0, 3000));
        Assert.InRange(rig.Drive.Plant.Position, 59.9, 60.1);
    }

    [Fact]
    public void SetPoint_ChangeImmediately_TurnsRoundOnTheWay()
    {
        var rig = Homed();
        rig.MoveTo(150_000);
        Assert.True(rig.Until(() => rig.Drive.Plant.Position > 40, 3000));
        rig.MoveTo(20_000);
        double furthest = 0;
        Assert.True(rig.Until(() => (rig.Statusword & Reached) != 0, 5000, () => furthest = Math.Max(furthest, rig.Drive.Plant.Position)));
        Assert.InRange(furthest, 40, 80);
        Assert.InRange(rig.Drive.Plant.Position, 19.9, 20.1);
    }

    [Fact]
    public void SetPoint_Relative_AddsToTheTarget()
    {
        var rig = Homed();
        rig.MoveTo(50_000);
        Assert.True(rig.Until(() => (rig.Statusword & Reached) != 0, 3000));
        rig.MoveTo(-20_000, 0x60);
        Assert.True(rig.Until(() => (rig.Statusword & Reached) != 0, 3000));
        Assert.InRange(rig.Drive.Plant.Position, 29.9, 30.1);
    }

    [Fact]
    public void Halt_InMotion_StopsAndGoesOnWhenReleased()
    {
        var rig = Homed();
        rig.MoveTo(150_000);
        Assert.True(rig.Until(() => rig.Drive.Plant.Position > 40, 3000));
        rig.Set("controlword", 0x10F);
        Assert.True(rig.Until(() => (rig.Statusword & Reached) != 0, 1000));
        rig.Pass(200);
        double rest = rig.Drive.Plant.Position;
        rig.Pass(300);
        Assert.Equal(rest, rig.Drive.Plant.Position, 0.01);
        Assert.True(rest < 100);
        rig.Set("controlword", 0x0F);
        Assert.True(rig.Until(() => (rig.Statusword & Reached) != 0, 3000));
        Assert.InRange(rig.Drive.Plant.Position, 149.9, 150.1);
    }

    [Fact]
    public void Halt_NewSetPointInTheWordThatReleasesIt_GoesToTheNewTarget()
    {
        var rig = Homed();
        rig.MoveTo(150_000);
        Assert.True(rig.Until(() => rig.Drive.Plant.Position > 40, 3000));
        rig.Set("controlword", 0x10F);
        rig.Pass(500);
        double rest = rig.Drive.Plant.Position;
        rig.Set("targetPosition", 30_000);
        rig.Set("controlword", 0x3F);
        double furthest = 0;
        Assert.True(rig.Until(() => (rig.Statusword & Reached) != 0, 3000, () => furthest = Math.Max(furthest, rig.Drive.Plant.Position)));
        Assert.True(furthest <= rest + 0.5, $"went on to {furthest} from {rest}");
        Assert.InRange(rig.Drive.Plant.Position, 29.9, 30.1);
    }

    [Fact]
    public void SetPoint_BeforeOperationEnabled_IsNotKept()
    {
        var rig = new Rig();
        rig.Set("mode", 1);
        rig.Set("targetPosition", 50_000);
        rig.Set("controlword", 0x16);
        rig.Set("controlword", 0x17);
        rig.Set("controlword", 0x1F);
        Assert.Equal(0x27, rig.Statusword & 0x6F);
        Assert.False(Moves(rig), "a bit raised before it was allowed to move started a move");
    }

    [Fact]
    public void SetPoint_AfterFaultAndEnable_IsForgotten()
    {
        var rig = Homed();
        rig.MoveTo(150_000);
        Assert.True(rig.Until(() => rig.Drive.Plant.Position > 40, 3000));
        rig.Drive.Trip(0x4310);
        rig.Pass(300);
        rig.Set("controlword", 0x80);
        rig.Enable();
        Assert.False(Moves(rig), "an old move was resumed");
    }

    [Fact]
    public void FollowingError_OutsideItsWindow_SetsBit13()
    {
        var rig = Homed();
        rig.MoveTo(150_000);
        Assert.True(rig.Until(() => rig.Drive.Plant.Position > 40, 3000));
        Assert.Equal(0, rig.Statusword & 0x2000);
        rig.Drive.Plant.Jammed = true;
        Assert.True(rig.Until(() => (rig.Statusword & 0x2000) != 0, 1000));
        Assert.False(rig.Drive.IsFaulted, "the window comes before the trip");
    }

    [Fact]
    public void Target_EndlessAxisPastTheEndOfTheCounter_GoesOnTheShortWay()
    {
        var rig = new Rig(Definitions.Drum());
        rig.Set("homingMethod", 35);
        rig.Set("homeOffset", int.MaxValue - 5000);
        rig.Enable(6);
        rig.Set("controlword", 0x1F);
        rig.Pass(20);
        rig.Set("mode", 1);
        rig.Set("controlword", 0x0F);
        double before = rig.Drive.Plant.Position;
        rig.MoveTo(int.MinValue + 4999);
        Assert.True(rig.Until(() => (rig.Statusword & Reached) != 0, 5000));
        Assert.Equal(100, rig.Drive.Plant.Position - before, 0.5);
        Assert.Equal(int.MinValue + 4999, rig.Get("position"), 50.0);
    }

    [Fact]
    public void Mode_NotSupported_IsNotDisplayed()
    {
        var rig = Homed();
        rig.Set("mode", 8);
        Assert.Equal(1, rig.Get("modeDisplay"));
        rig.Set("mode", 6);
        Assert.Equal(6, rig.Get("modeDisplay"));
    }

    [Fact]
    public void ProfileVelocity_TargetVelocity_RunsAndStops()
    {
        var rig = Homed();
        rig.MoveTo(60_000);
        Assert.True(rig.Until(() => (rig.Statusword & Reached) != 0, 3000));
        rig.Set("targetVelocity", 0);
        rig.Set("mode", 3);
        rig.Set("targetVelocity", 30_000);
        rig.Pass(500);
        Assert.InRange(rig.Get("velocity"), 29_000, 31_000);
        rig.Set("controlword", 0x10F);
        rig.Pass(300);
        Assert.InRange(rig.Get("velocity"), -100, 100);
    }

    private static Rig Homed()
    {
        var rig = new Rig();
        rig.Enable();
        rig.Home();
        return rig;
    }

    private static bool Moves(Rig rig)
    {
        double before = rig.Drive.Plant.Position;
        rig.Pass(100);
        return Math.Abs(rig.Drive.Plant.Position - before) > 0.5;
    }
}

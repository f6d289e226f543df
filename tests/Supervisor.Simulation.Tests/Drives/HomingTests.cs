using Supervisor.Configuration.Machines;
using Supervisor.Simulation.Plant;
using Supervisor.Simulation.Tests.Support;

namespace Supervisor.Simulation.Tests.Drives;

/// <summary>
/// Homing mode: methods 1–14 with index, 17–30 without, 33/34 index, 35/37 current position, and the statusword bits under mask 3400h
/// (CiA 402, secondary source); which edge is passed in which direction: from memory.
/// </summary>
public sealed class HomingTests
{
    public static TheoryData<int, double> MethodsAndStarts()
    {
        var data = new TheoryData<int, double>();
        int[] methods = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 17, 18, 19, 20, 21, 22, 23, 24, 25, 26, 27, 28, 29, 30];
        foreach (int method in methods)
        {
            // Both sides, close by and on the switch: the home position is at 90 of 0 to 180 (limit switches: at their end).
            foreach (double start in new[] { 20.0, 85.0, 89.9, 90.1, 92.0, 98.0, 160.0 })
            {
                data.Add(method, start);
            }
        }

        return data;
    }

    [Theory]
    [MemberData(nameof(MethodsAndStarts))]
    public void Homing_FromEverySide_FindsTheSamePosition(int method, double start)
    {
        double offset = method is 1 or 17 ? 0 : method is 2 or 18 ? 180 : 90;
        var axis = Definitions.Axis() with { Homing = new HomingDefinition(method, 40, 5, offset, TimeSpan.FromSeconds(20), 1) };
        var rig = new Rig(axis, PlantFromAxis.Build(axis, 1) with { StartPosition = start * 1000 });
        rig.Enable(6);
        Assert.Equal(0x0400, rig.Statusword & 0x3400);
        rig.Set("controlword", 0x1F);
        Assert.Equal(0x0000, rig.Statusword & 0x3400);
        bool attained = false;
        Assert.True(
            rig.Until(() => (rig.Statusword & 0x3400) == 0x1400, 60_000, () => attained |= (rig.Statusword & 0x3400) == 0x1000),
            $"{rig.Statusword:X4} {rig.Drive.ErrorCode:X4} at {rig.Drive.Plant.Position}");
        Assert.True(attained, "attained before at rest was never told");
        Assert.Equal(1, rig.Get("homed"));

        // Half a count of rounding and the servo's own shake at most.
        Assert.Equal(rig.Drive.Plant.Position * 1000, rig.Get("position"), 2.0);
    }

    [Theory]
    [InlineData(17, -1)]
    [InlineData(18, 1)]
    [InlineData(20, 1)]
    [InlineData(22, -1)]
    [InlineData(24, 1)]
    [InlineData(28, -1)]
    [InlineData(33, -1)]
    [InlineData(34, 1)]
    public void Homing_SwitchOpenAtStart_SetsOffInTheMethodsDirection(int method, int direction)
    {
        var axis = Definitions.Axis() with { Homing = new HomingDefinition(method, 40, 5, 90, TimeSpan.FromSeconds(20), 1) };
        double start = direction > 0 ? 60_000 : 120_000;
        var plant = PlantFromAxis.Build(axis, 1);
        var rig = new Rig(axis, plant with { StartPosition = method is 33 or 34 ? plant.StartPosition : start });
        double before = rig.Drive.Plant.PositionCounts;
        rig.Enable(6);
        rig.Set("controlword", 0x1F);
        rig.Pass(300);
        Assert.Equal(direction, Math.Sign(rig.Drive.Plant.PositionCounts - before));
    }

    [Theory]
    [InlineData(35)]
    [InlineData(37)]
    public void Homing_CurrentPosition_TakesTheOffsetWithoutMotion(int method)
    {
        var rig = new Rig();
        double before = rig.Drive.Plant.Position;
        rig.Set("homingMethod", method);
        rig.Set("homeOffset", 12_345);
        rig.Enable(6);
        rig.Set("controlword", 0x1F);
        rig.Pass(10);
        Assert.Equal(0x1400, rig.Statusword & 0x3400);
        Assert.Equal(12_345, rig.Get("position"), 1.0);
        Assert.Equal(before, rig.Drive.Plant.Position, 0.001);
    }

    [Theory]
    [InlineData(0)]
    [InlineData(15)]
    [InlineData(16)]
    [InlineData(31)]
    [InlineData(36)]
    [InlineData(99)]
    public void Homing_UnknownMethod_TellsAnError(int method)
    {
        var rig = new Rig();
        rig.Set("homingMethod", method);
        rig.Enable(6);
        rig.Set("controlword", 0x1F);
        rig.Pass(10);
        Assert.Equal(0x2400, rig.Statusword & 0x3400);
        Assert.Equal(0, rig.Get("homed"));
    }

    [Fact]
    public void Homing_StartBitDropped_IsInterrupted()
    {
        var rig = new Rig();
        rig.Enable(6);
        rig.Set("controlword", 0x1F);
        rig.Pass(300);
        rig.Set("controlword", 0x0F);
        Assert.True(rig.Until(() => (rig.Statusword & 0x3400) == 0x0400, 1000));
        Assert.InRange(Math.Abs(rig.Drive.Plant.Velocity), 0, 1);
        Assert.Equal(0, rig.Get("homed"));
    }

    [Fact]
    public void Homing_CamOutOfReach_TurnsAtBothLimitsAndTellsAnError()
    {
        var axis = Definitions.Axis() with { Homing = new HomingDefinition(24, 100, 5, 90, TimeSpan.FromSeconds(20), 1) };
        var plant = PlantFromAxis.Build(axis, 1);
        var rig = new Rig(axis, plant with { Homing = plant.Homing with { CamStart = 900_000 } });
        rig.Enable(6);
        rig.Set("controlword", 0x1F);
        Assert.True(rig.Until(() => (rig.Statusword & 0x3400) == 0x2000, 30_000), "error while moving");
        Assert.True(rig.Until(() => (rig.Statusword & 0x3400) == 0x2400, 5000));
        Assert.Equal(0, rig.Drive.ErrorCode);
    }

    [Fact]
    public void Homing_Jammed_EndsInFaultNotHomed()
    {
        var rig = new Rig();
        rig.Enable(6);
        rig.Drive.Plant.Jammed = true;
        rig.Set("controlword", 0x1F);
        Assert.True(rig.Until(() => (rig.Statusword & 0x4F) == 0x08, 10_000));
        Assert.Equal(0, rig.Get("homed"));
    }

    [Fact]
    public void Homing_UndeclaredRegisters_UsesTheAxisEntry()
    {
        var words = Definitions.Words();
        var axis = Definitions.Axis(words with { Parameters = [.. words.Parameters.Where(field => !field.Name.StartsWith("hom", StringComparison.Ordinal))] }) with
        {
            Homing = new HomingDefinition(18, 40, 5, 175, TimeSpan.FromSeconds(20), 1),
        };
        var rig = new Rig(axis);
        rig.Enable();
        rig.Home();
        Assert.Equal(rig.Drive.Plant.Position * 1000, rig.Get("position"), 2.0);
        Assert.InRange(rig.Get("position"), 170_000, 176_000);
    }

    [Fact]
    public void Homing_InvertedAxis_CountsMatchTheMachineMirrored()
    {
        var axis = Definitions.Axis() with { Inverted = true, Homing = new HomingDefinition(18, 40, 5, 0, TimeSpan.FromSeconds(20), 1) };
        var rig = new Rig(axis);
        rig.Enable();
        rig.Home();
        Assert.Equal(rig.Drive.Plant.Position * -1000, rig.Get("position"), 2.0);
        rig.MoveTo(-100_000);
        Assert.True(rig.Until(() => (rig.Statusword & 0x400) != 0, 5000));
        Assert.InRange(rig.Drive.Plant.Position, 99.9, 100.1);
    }

    [Theory]
    [InlineData(19)]
    [InlineData(24)]
    [InlineData(27)]
    public void Homing_EndlessAxis_FindsTheCamOnceATurn(int method)
    {
        var rig = new Rig(Definitions.Drum(new HomingDefinition(method, 180, 20, 30, TimeSpan.FromSeconds(20), 1)));
        rig.Enable();
        rig.Home();
        double machine = rig.Drive.Plant.Position % 360;
        double told = rig.Get("position") / 100 % 360;
        Assert.Equal(0, Math.IEEERemainder(machine - told, 360), 0.05);
    }
}

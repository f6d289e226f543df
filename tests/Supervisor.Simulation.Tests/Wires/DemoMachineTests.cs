using Supervisor.Configuration.Machines;
using Supervisor.Simulation.Tests.Support;
using Supervisor.Simulation.Wires;

namespace Supervisor.Simulation.Tests.Wires;

/// <summary>The demo machine's own files: its drives can do what the files ask of them, within the limits the files give.</summary>
public sealed class DemoMachineTests
{
    private static readonly MachineDefinition Machine = Read();

    public static TheoryData<string> Axes => [.. Machine.Axes.Select(axis => axis.Name)];

    [Fact]
    public void Inputs_AtStart_PermitMotionAndNoButtonIsPressed()
    {
        var machine = new SimulatedMachine(Machine);
        Assert.True(machine.Find("tray")!.Input("input1"));
        Assert.True(machine.Find("tray")!.Input("input2"));
        Assert.False(machine.Find("tray")!.Input("input3"));
        Assert.True(machine.Find("gantry")!.Input("input1"));
        Assert.True(machine.Find("drum")!.Input("input1"));
        Assert.Equal(2, machine.Lines.Count);
        Assert.Equal(["tray", "gantry", "drum"], machine.Lines[0].Drives.Select(drive => drive.Axis.Name));
    }

    [Theory]
    [MemberData(nameof(Axes))]
    public void Axis_HomedAndMoved_StaysWithinItsFollowingError(string name)
    {
        var axis = Machine.Axes.Single(known => known.Name == name);
        var rig = new Rig(axis);
        rig.Set("torqueLimit", axis.Torque?.Homing ?? 300);
        rig.Enable();
        double largest = 0;
        void Watch() => largest = Math.Max(largest, Math.Abs(rig.Drive.FollowingError) / axis.CountsPerUnit);
        if (axis.Homing is { } homing)
        {
            // As a supervisor writes it: the axis's full acceleration, though the torque for homing is low.
            rig.Set("homingAcceleration", axis.Limits.Acceleration * axis.CountsPerUnit);
            rig.Set("mode", 6);
            rig.Set("controlword", 0x1F);
            Assert.True(rig.Until(() => (rig.Statusword & 0x1400) == 0x1400, homing.Timeout.TotalMilliseconds, Watch), $"{rig.Drive.ErrorCode:X4}");
            rig.Set("mode", 1);
            rig.Set("controlword", 0x0F);
        }

        rig.Set("torqueLimit", axis.Torque?.Moving ?? 300);
        double length = axis.Limits.UpperPosition ?? axis.EndlessPeriod!.Value;
        foreach (double share in new[] { 0.9, 0.02, 0.6 })
        {
            rig.MoveTo(Math.Round(share * length * axis.CountsPerUnit));
            Assert.True(rig.Until(() => (rig.Statusword & 0x400) != 0, 60_000, Watch), $"{share}: {rig.Drive.Plant.Position} {rig.Drive.ErrorCode:X4}");
        }

        Assert.InRange(largest, 1e-3, axis.FollowingError?.Limit ?? (0.05 * axis.Limits.Velocity));
    }

    [Fact]
    public void Dibber_ContactWithItsTorque_MeetsTheSoil()
    {
        var axis = Machine.Axes.Single(known => known.Name == "dibber");
        var rig = new Rig(axis);
        rig.Enable();
        rig.Home();
        rig.Set("torqueLimit", axis.Torque!.Contact);
        rig.Set("profileVelocity", 60 * axis.CountsPerUnit);
        rig.MoveTo(30 * axis.CountsPerUnit);
        Assert.True(rig.Until(() => rig.Drive.Plant.Position > 10 && rig.Get("torque") >= 20, 3000));
        rig.Pass(80); // two cycles until the supervisor has seen it
        rig.Set("controlword", 0x10F);
        rig.Pass(2000);
        Assert.Equal(0, rig.Drive.ErrorCode);
        Assert.InRange(rig.Drive.Plant.Position, 10, 29);
    }

    private static MachineDefinition Read()
    {
        var result = MachineFile.Read(Path.Combine(AppContext.BaseDirectory, "Demo", "machine.json"));
        return result.Value ?? throw new InvalidOperationException(string.Join('\n', result.Errors));
    }
}

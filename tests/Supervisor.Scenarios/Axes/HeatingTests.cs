using Supervisor.Configuration.Machines;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Axes;

/// <summary>The gravity-loaded dibber holds its weight: by that torque its motor warms up, and cools once the brake has it.</summary>
public sealed class HeatingTests
{
    [Fact]
    public void Heating_AxisThatHoldsItsLoad_WarnsOnceAndGoesOnWorking()
    {
        var (world, torque) = Holding();
        var final = 100 * Math.Pow(torque / Continuous(torque), 2);

        world.RunUntil(() => Warnings(world).Any(), 60, "warned");
        Assert.InRange(world.Snapshot("dibber").HeatPercent, 90, 91);
        world.Run(60);

        // Ten time constants: the heat has settled where the square of the load puts it (IEC 60255-149, first order).
        Assert.Equal(final, world.Snapshot("dibber").HeatPercent, 2.0);
        var warning = Assert.Single(Warnings(world));
        Assert.Equal(AxisState.Ready, warning.State);
        Assert.Single(world.Faults);
        Assert.Equal((AxisState.Ready, FaultCode.None), (world.State("dibber"), world.Snapshot("dibber").Fault));
        world.Do("dibber", AxisCommandKind.Move, 20);
    }

    [Fact]
    public void Heating_AfterCoolingBelowTheWarning_WarnsAnew()
    {
        var (world, _) = Holding();
        world.RunUntil(() => Warnings(world).Any(), 60, "warned");
        world.Do("dibber", AxisCommandKind.Disable);
        world.RunUntil(() => world.Snapshot("dibber").HeatPercent < 84, 60, "cooler by more than five per cent");
        Assert.Single(Warnings(world));

        world.Do("dibber", AxisCommandKind.Enable);
        world.RunUntil(() => Warnings(world).Count() == 2, 60, "warned again");
    }

    [Fact]
    public void Torque_HeldForAMinute_IsItsOwnRootMeanSquare()
    {
        var (world, torque) = Holding();
        world.Run(65);

        Assert.Equal(Math.Abs(torque), world.Snapshot("dibber").TorqueRmsPercent, Math.Abs(torque) * 0.05);
    }

    [Fact]
    public void TorqueLoad_OfACycle_IsItsRootMeanSquareAndNotTheMinutes()
    {
        var (world, torque) = Holding();
        world.Run(65);
        world.Do("dibber", AxisCommandKind.Disable);
        var before = world.Snapshot("dibber").TorqueLoad;
        world.Run(30);
        var after = world.Snapshot("dibber").TorqueLoad;

        Assert.InRange(after.RmsSince(before), 0, Math.Abs(torque) * 0.05);
        Assert.Equal(30, after.Seconds - before.Seconds, 0.1);
        Assert.True(world.Snapshot("dibber").TorqueRmsPercent > Math.Abs(torque) * 0.5);
    }

    [Fact]
    public void Heating_NotInTheFile_IsNotKnown()
    {
        var world = new SimulatedWorld(SimulatedWorld.DemoMachine(), 5);
        world.StartUp();
        world.Run(1);

        Assert.True(double.IsNaN(world.Snapshot("tray").HeatPercent));
        Assert.False(double.IsNaN(world.Snapshot("tray").TorqueRmsPercent));
    }

    /// <summary>A torque a little below the one the axis holds: it ends at 126 % of the trip value, and passes the warning on the way.</summary>
    private static double Continuous(double torque) => Math.Abs(torque) / Math.Sqrt(1.26);

    private static IEnumerable<FaultEvent> Warnings(SimulatedWorld world) => world.Faults.Where(fault => fault.Code == FaultCode.HeatingWarning);

    private static (SimulatedWorld World, double Torque) Holding()
    {
        var machine = SimulatedWorld.DemoMachine();
        var torque = HeldTorque(machine);
        var heating = new HeatingDefinition(TimeSpan.FromSeconds(6), Continuous(torque), 90);
        var world = Homed(machine with { Axes = [.. machine.Axes.Select(axis => axis.Name == "dibber" ? axis with { Heating = heating } : axis)] });
        return (world, torque);
    }

    private static double HeldTorque(MachineDefinition machine)
    {
        var world = Homed(machine);
        world.Run(1);
        var torque = world.Snapshot("dibber").Torque;
        Assert.True(Math.Abs(torque) > 1, $"the dibber holds with {torque} %: nothing would heat");
        return torque;
    }

    private static SimulatedWorld Homed(MachineDefinition machine)
    {
        var world = new SimulatedWorld(machine, 5);
        world.StartUp();
        world.Do("dibber", AxisCommandKind.Home);
        return world;
    }
}

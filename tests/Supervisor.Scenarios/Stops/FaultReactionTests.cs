using Supervisor.Configuration.Machines;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Stops;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Stops;

/// <summary>What people read of a fault's stop is what their axes do: the gantry and the dibber, which are one group, under each fault of the catalogue.</summary>
public sealed class FaultReactionTests
{
    private const string Gantry = "gantry";
    private const string Dibber = "dibber";

    /// <summary>
    /// Not seen on an axis but found otherwise: here by itself below, or with a drive moved by hand in the tests of the runtime
    /// (energising, failed stops), in the scenarios of brakes, or by the tests of what is told of a module or stops nothing.
    /// </summary>
    private static readonly FaultCode[] FoundOtherwise =
    [
        FaultCode.None, FaultCode.EnergisingTimeout, FaultCode.StopFailed, FaultCode.ChannelDiscrepancy, FaultCode.PortThreadEnded,
        FaultCode.ContactorWelded, FaultCode.ContactorMissing, FaultCode.ContactorFell, FaultCode.PowerDropped,
        FaultCode.BrakeProofFailed, FaultCode.LoadHeldByTorque, FaultCode.ModuleErrorsTooMany,
    ];

    public static TheoryData<FaultCode> Seen =>
        [.. FaultCatalogue.Entries.Where(entry => !entry.IsWarning).Select(entry => entry.Code).Except(FoundOtherwise)];

    [Theory]
    [MemberData(nameof(Seen))]
    public void FaultSeen_WhileBothMove_StopsAxisAndGroupAsStated(FaultCode code)
    {
        var (world, watch) = Moving(SimulatedWorld.DemoMachine());
        world.Steppers[0].Axes.Single(axis => axis.Definition.Name == Gantry).SeeFault(code, 0, world.Queue.Now);
        watch.Run(5);
        Assert.Equal(FaultCatalogue.ReactionTo(code), new FaultReaction(watch.Of(Gantry), watch.Of(Dibber)));
    }

    [Fact]
    public void HomingTimeout_WhileTheOtherMoves_StopsAxisAndGroupAsStated()
    {
        var machine = With(Gantry, axis => axis with { Homing = axis.Homing! with { Timeout = TimeSpan.FromSeconds(0.4) } });
        var world = new SimulatedWorld(machine, 12);
        world.StartUp();
        world.Do(Dibber, AxisCommandKind.Home);
        var move = world.Give(Dibber, AxisCommandKind.Move, 150, 20);
        var home = world.Give(Gantry, AxisCommandKind.Home);
        world.RunUntil(() => Math.Abs(world.Drive(Gantry).Plant.Velocity) > 50, 5, "searching");
        var watch = new ReactionWatch(world, (Gantry, home), (Dibber, move));
        watch.Run(5);
        Assert.Equal(FaultCode.HomingTimeout, world.EndOf(home).Fault);
        Assert.Equal(FaultCatalogue.ReactionTo(FaultCode.HomingTimeout), new FaultReaction(watch.Of(Gantry), watch.Of(Dibber)));
    }

    [Theory]
    [InlineData(ContactFailure.Fault, FaultCode.ContactMissing)]
    [InlineData(ContactFailure.Fail, FaultCode.ContactMissing)]
    [InlineData(ContactFailure.Fault, FaultCode.ContactTooEarly)]
    [InlineData(ContactFailure.Fail, FaultCode.ContactTooEarly)]
    public void Contact_ThatFails_StopsAxisAndGroupAsStatedForTheFilesChoice(ContactFailure choice, FaultCode code)
    {
        // The soil begins at about 14 mm.
        var world = new SimulatedWorld(With(Dibber, axis => axis with { Contact = new ContactDefinition(40, choice, choice) }), 13);
        world.StartUp();
        world.Do(Dibber, AxisCommandKind.Home);
        world.Do(Gantry, AxisCommandKind.Home);
        world.Do(Gantry, AxisCommandKind.Move, 0);
        var move = world.Give(Gantry, AxisCommandKind.Move, 800, 100);
        var contact = world.Give(Dibber, AxisCommandKind.Contact, code == FaultCode.ContactMissing ? 10 : 60, 30, 20);
        world.RunUntil(() => Math.Abs(world.Drive(Dibber).Plant.Velocity) > 25, 3, "on its way down");
        var watch = new ReactionWatch(world, (Dibber, contact), (Gantry, move));
        watch.Run(10);
        Assert.Equal(code, world.EndOf(contact).Fault);
        var entry = FaultCatalogue.Entry(code);
        Assert.Equal(choice == ContactFailure.Fault ? entry.Reaction : entry.AsFailedCommand!.Value, new FaultReaction(watch.Of(Dibber), watch.Of(Gantry)));
        Assert.Equal(choice == ContactFailure.Fault, world.Faults.Any(fault => fault.Code == code));
    }

    [Fact]
    public void HeatingWarning_WhileBothMove_StopsNothingAsStated()
    {
        var (world, watch) = Moving(With(Gantry, axis => axis with { Heating = new HeatingDefinition(TimeSpan.FromSeconds(0.3), 1, 90) }));
        watch.Run(8);
        Assert.Contains(world.Faults, fault => fault.Code == FaultCode.HeatingWarning);
        Assert.Equal(FaultCatalogue.ReactionTo(FaultCode.HeatingWarning), new FaultReaction(watch.Of(Gantry), watch.Of(Dibber)));
    }

    /// <summary>What the end of a port's thread does to the others: it trips the cause of a shut-down.</summary>
    [Fact]
    public void PortThreadEnded_WhileBothMove_StopsTheOtherPortsAsStated()
    {
        var (world, watch) = Moving(SimulatedWorld.DemoMachine());
        world.Board.Latch.Trip(StopCauses.ShutDown);
        watch.Run(5);
        Assert.Equal(FaultCatalogue.ReactionTo(FaultCode.PortThreadEnded), new FaultReaction(watch.Of(Gantry), watch.Of(Dibber)));
    }

    /// <summary>One channel opens and the other does not: the axes of the interlock stop in its category, another axis of their group goes on.</summary>
    [Theory]
    [InlineData(1, StopReaction.QuickStopThenOff)]
    [InlineData(0, StopReaction.CutPower)]
    public void ChannelDiscrepancy_WhileBothMove_StopsTheInterlocksAxesInItsCategory(int category, StopReaction expected)
    {
        var demo = SimulatedWorld.DemoMachine();
        var gantry = demo.Axes.Select((axis, index) => (axis, index)).Single(pair => pair.axis.Name == Gantry).index;
        var machine = new SupervisedMachine(
            demo with { Interlocks = [.. demo.Interlocks.Select(interlock => interlock.Name == "emergency stop" ? interlock with { Axes = [gantry], StopCategory = category } : interlock)] }, 14);
        machine.StartUp();
        var watch = Move(machine.World);
        machine.World.Drive("tray").SetInput("input2", false);
        watch.Run(8);
        Assert.Contains(machine.Journal.Faults, fault => fault.Code == FaultCode.ChannelDiscrepancy);
        Assert.Equal(new FaultReaction(StopReaction.AsInterlock, StopReaction.None), FaultCatalogue.ReactionTo(FaultCode.ChannelDiscrepancy));
        Assert.Equal((category, expected), (FaultReaction.Category(watch.Of(Gantry)), watch.Of(Gantry)));
        Assert.Equal(StopReaction.None, watch.Of(Dibber));
    }

    /// <summary>The watch tells the reactions apart: a drive that starts anew loses its torque at speed.</summary>
    [Fact]
    public void Watch_OfAnAxisThatLosesItsTorqueAtSpeed_TellsItFromAQuickStop()
    {
        var (world, watch) = Moving(With(Dibber, axis => axis with { Group = null }));
        world.Drive(Gantry).Restart();
        watch.Run(5);
        Assert.Equal((StopReaction.CutPower, StopReaction.None), (watch.Of(Gantry), watch.Of(Dibber)));
    }

    private static MachineDefinition With(string name, Func<AxisDefinition, AxisDefinition> change)
    {
        var demo = SimulatedWorld.DemoMachine();
        return demo with { Axes = [.. demo.Axes.Select(axis => axis.Name == name ? change(axis) : axis)] };
    }

    private static (SimulatedWorld World, ReactionWatch Watch) Moving(MachineDefinition machine)
    {
        var world = new SimulatedWorld(machine, 11);
        world.StartUp();
        return (world, Move(world));
    }

    /// <summary>Both far from their targets and at speed.</summary>
    private static ReactionWatch Move(SimulatedWorld world)
    {
        world.Do(Dibber, AxisCommandKind.Home);
        world.Do(Gantry, AxisCommandKind.Home);
        world.Do(Gantry, AxisCommandKind.Move, 0);
        var gantry = world.Give(Gantry, AxisCommandKind.Move, 800, 250);
        var dibber = world.Give(Dibber, AxisCommandKind.Move, 150, 40);
        world.RunUntil(() => world.Drive(Gantry).Plant.Velocity > 240 && world.Drive(Dibber).Plant.Velocity > 38, 3, "both at speed");
        return new ReactionWatch(world, (Gantry, gantry), (Dibber, dibber));
    }
}

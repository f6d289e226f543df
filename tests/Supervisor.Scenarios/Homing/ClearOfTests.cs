using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Homing;

/// <summary>The gantry may only be homed while the dibber is up and nothing stands at its end.</summary>
public sealed class ClearOfTests
{
    [Fact]
    public void Home_WithTheOtherAxisInTheWay_IsRefused()
    {
        var world = Started(1);
        world.Do("dibber", AxisCommandKind.Home);
        world.Do("dibber", AxisCommandKind.Move, 60);
        Assert.Equal(Refusal.NotClearToHome, Refused(world, confirmed: false));

        // A person can't vouch away what is known.
        Assert.Equal(Refusal.NotClearToHome, Refused(world, confirmed: true));
        world.Do("dibber", AxisCommandKind.Move, 2);
        world.Do("gantry", AxisCommandKind.Home);
    }

    [Fact]
    public void Home_WithTheInputOpen_IsRefused()
    {
        var world = Started(2);
        world.Do("dibber", AxisCommandKind.Home);
        world.Drive("gantry").SetInput("input2", false);
        world.Run(0.2);
        Assert.Equal(Refusal.NotClearToHome, Refused(world, confirmed: true));
    }

    [Fact]
    public void Home_WithTheOtherAxisNotReferenced_NeedsAPersonsConfirmation()
    {
        var world = Started(3);
        Assert.Equal(Refusal.NeedsConfirmation, Refused(world, confirmed: false));
        var home = world.Give("gantry", AxisCommandKind.Home, confirmed: true);
        world.RunUntil(() => world.EndOf(home).Outcome != Outcome.None, 30, "homed");
        Assert.Equal(Outcome.Done, world.EndOf(home).Outcome);
    }

    [Fact]
    public void Homing_WhenTheOtherAxisMovesIntoTheWay_StopsAndIsNotRecovered()
    {
        var world = Started(4);
        world.Do("dibber", AxisCommandKind.Home);
        world.Give("gantry", AxisCommandKind.Home);
        world.RunUntil(() => world.Snapshot("gantry").Velocity < -50, 5, "searching");
        world.Give("dibber", AxisCommandKind.Move, 60);
        AssertStops(world);
    }

    [Fact]
    public void Homing_WhenTheInputOpens_Stops()
    {
        var world = Started(5);
        world.Do("dibber", AxisCommandKind.Home);
        world.Give("gantry", AxisCommandKind.Home);
        world.RunUntil(() => world.Snapshot("gantry").Velocity < -50, 5, "searching");
        world.Drive("gantry").SetInput("input2", false);
        AssertStops(world);
    }

    /// <summary>What was vouched for stood still; once it moves nobody vouches for it any more.</summary>
    [Fact]
    public void Homing_WhenTheAxisVouchedForIsMoved_Stops()
    {
        var world = Started(6);
        world.Give("gantry", AxisCommandKind.Home, confirmed: true);
        world.RunUntil(() => world.Snapshot("gantry").Velocity < -50, 5, "searching");
        world.Give("dibber", AxisCommandKind.Home);
        AssertStops(world);
    }

    [Fact]
    public void HomeAll_BringsTheOtherAxisOutOfTheWayFirst()
    {
        var machine = new SupervisedMachine(Machine(), 7);
        machine.World.Drive("gantry").SetInput("input2", true);
        machine.StartUp();
        machine.Done(new HomeCommand([]));
        machine.Done(machine.Move("dibber", 60));
        var answer = machine.Do(new HomeCommand(machine.Axes("gantry")));
        Assert.Equal(Refusal.NotClearToHome, answer.Refusal);
        Assert.Contains("dibber is at ", answer.Message, StringComparison.Ordinal);
        Assert.Contains(" and must be between 0 mm and 5 mm: move dibber there first", answer.Message, StringComparison.Ordinal);
    }

    private static void AssertStops(SimulatedWorld world)
    {
        world.RunUntil(() => world.State("gantry") == AxisState.Faulted && !world.Drive("gantry").Plant.Powered, 3, "gantry off");
        Assert.Equal(FaultCode.HomingNotClear, world.Snapshot("gantry").Fault);
        Assert.False(FaultCatalogue.MayRecover(FaultCode.HomingNotClear));
        Assert.False(world.Snapshot("gantry").Referenced);
    }

    private static Refusal Refused(SimulatedWorld world, bool confirmed)
    {
        var home = world.Give("gantry", AxisCommandKind.Home, confirmed: confirmed);
        world.RunUntil(() => world.EndOf(home).Outcome != Outcome.None, 1, "answered");
        Assert.Equal(Outcome.Refused, world.EndOf(home).Outcome);
        return world.EndOf(home).Refusal;
    }

    private static MachineDefinition Machine()
    {
        var demo = SimulatedWorld.DemoMachine();
        var (gantry, dibber) = (1, 2);
        var input = new InputReference("gantry.input2", InputSource.Drive, gantry, demo.Axes[gantry].Drive.Inputs["input2"], null);
        var homing = demo.Axes[gantry].Homing! with { ClearOf = [new ClearCondition(dibber, 0, 5, null), new ClearCondition(-1, 0, 0, input)] };
        return demo with { Axes = [.. demo.Axes.Select((axis, index) => index == gantry ? axis with { Homing = homing, Group = null } : axis with { Group = null })], Groups = [] };
    }

    private static SimulatedWorld Started(ulong seed)
    {
        var world = new SimulatedWorld(Machine(), seed);
        world.Drive("gantry").SetInput("input2", true);
        world.StartUp();
        return world;
    }
}

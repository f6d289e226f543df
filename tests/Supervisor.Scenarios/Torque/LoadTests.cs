using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Torque;

/// <summary>An axis that carries a load: the brake is watched, and Ready comes only once the motor carries it.</summary>
public sealed class LoadTests
{
    [Fact]
    public void Energising_WithTheTorqueOfTheLoad_BecomesReady()
    {
        var world = Started(gravityTorque: 12, 1);
        world.Do("slide", AxisCommandKind.Home);
        Assert.Empty(world.Faults);
    }

    /// <summary>The file says that the load takes 70 %, the motor shows about 12: something else carries it.</summary>
    [Fact]
    public void Energising_WithoutTheTorqueOfTheLoad_DoesNotBecomeReady()
    {
        var world = Started(gravityTorque: 70, 2);
        var home = world.Give("slide", AxisCommandKind.Home);
        world.RunUntil(() => world.EndOf(home).Outcome != Outcome.None, 5, "ends");
        Assert.Equal(FaultCode.LoadNotCarried, world.EndOf(home).Fault);
        world.RunUntil(() => !world.Drive("slide").Plant.Powered, 3, "off");
        Assert.True(world.Drive("slide").Plant.BrakeClosed);
    }

    [Fact]
    public void Brake_ThatLetsTheLoadSink_IsABrakeSlipThatNothingRecovers()
    {
        var world = Started(gravityTorque: 12, 3);
        world.Do("slide", AxisCommandKind.Home);
        world.Do("slide", AxisCommandKind.Move, 50);
        world.Do("slide", AxisCommandKind.Disable);
        world.Run(5);
        Assert.Empty(world.Faults);
        world.Drive("slide").Plant.BrakeWorn = true;
        world.RunUntil(() => world.State("slide") == AxisState.Faulted, 3, "seen");
        Assert.Equal(FaultCode.BrakeSlip, world.Snapshot("slide").Fault);
        Assert.False(FaultCatalogue.MayRecover(FaultCode.BrakeSlip));
        Assert.Single(world.Faults, fault => fault.Code == FaultCode.BrakeSlip);
    }

    /// <summary>A fault that may be recovered must not hide that the load sinks meanwhile.</summary>
    [Fact]
    public void Brake_ThatSlipsWhileAnotherFaultIsLatched_TakesItsPlace()
    {
        var world = Started(gravityTorque: 12, 4);
        world.Do("slide", AxisCommandKind.Home);
        world.Do("slide", AxisCommandKind.Move, 50);
        world.Drive("slide").Trip(0x3220);
        world.RunUntil(() => world.State("slide") == AxisState.Faulted && !world.Drive("slide").Plant.Powered, 3, "faulted and off");
        world.Run(1);
        world.Drive("slide").Plant.BrakeWorn = true;
        world.RunUntil(() => world.Snapshot("slide").Fault == FaultCode.BrakeSlip, 3, "slip takes its place");
        Assert.Contains(world.Faults, fault => fault.Code == FaultCode.BrakeSlip);
    }

    private static SimulatedWorld Started(double gravityTorque, ulong seed)
    {
        var axis = new OneAxis
        {
            Feedback = OneAxis.Words + """, { "name": "torque", "register": 6, "type": "s16", "scale": 0.1 }, { "name": "errorCode", "register": 7, "type": "u16" }""",
            Axis = $$""" "gravityLoaded": true, "gravityTorque": {{gravityTorque}}, "brake": { "releaseMs": 80, "closeMs": 60 }, {{OneAxis.Homing}} """,
        };
        var world = new SimulatedWorld(axis.Build(), seed);
        world.StartUp();
        return world;
    }
}

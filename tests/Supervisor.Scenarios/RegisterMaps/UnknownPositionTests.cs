using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.RegisterMaps;

/// <summary>A drive with a number for "not known" in its position: it is never taken for a place.</summary>
public sealed class UnknownPositionTests
{
    private static readonly OneAxis Machine = new()
    {
        Feedback = OneAxis.Words.Replace("\"type\": \"s32\" }, { \"name\": \"velocity\"", "\"type\": \"s32\", \"sentinels\": [\"0x80000000\"] }, { \"name\": \"velocity\"", StringComparison.Ordinal),
    };

    [Fact]
    public void BeforeHoming_NoPlaceIsShownAndNothingMovesButTheHoming()
    {
        var world = Started(61);
        Assert.True(double.IsNaN(world.Snapshot("slide").Position));
        Assert.False(world.Snapshot("slide").Referenced);
        var enable = world.Give("slide", AxisCommandKind.Enable);
        world.Run(0.2);
        Assert.Equal(Refusal.NotReferenced, world.EndOf(enable).Refusal);

        world.Do("slide", AxisCommandKind.Home);
        Assert.Equal(0, world.Snapshot("slide").Position, 0.5);
        world.Do("slide", AxisCommandKind.Move, 150);
        Assert.Equal(150, world.Drive("slide").CountedPosition / Machine.CountsPerUnit, 0.2);
        Assert.Empty(world.Faults);
    }

    [Fact]
    public void WithTorque_IsAFaultOfTheEncoderAndNeedsAHoming()
    {
        var world = Started(62);
        world.Do("slide", AxisCommandKind.Home);
        world.Give("slide", AxisCommandKind.Move, 180);
        world.RunUntil(() => world.Snapshot("slide").Position > 60, 3, "on its way");
        world.Drive("slide").IsPlaceUnknown = true;
        world.RunUntil(() => world.State("slide") == AxisState.Faulted && !world.Drive("slide").Plant.Powered, 3, "faulted and off");

        Assert.Equal(FaultCode.Encoder, Assert.Single(world.Faults).Code);
        Assert.True(double.IsNaN(world.Faults[0].Position));
        Assert.True(double.IsNaN(world.Snapshot("slide").Position));
        Assert.True(world.Drive("slide").CountedPosition / Machine.CountsPerUnit < 180);

        world.Run(1);
        world.Drive("slide").IsPlaceUnknown = false;
        world.Do("slide", AxisCommandKind.Reset);
        Assert.False(world.Snapshot("slide").Referenced);
        world.Do("slide", AxisCommandKind.Home);
        world.Do("slide", AxisCommandKind.Move, 20);
    }

    private static SimulatedWorld Started(ulong seed)
    {
        var world = new SimulatedWorld(Machine.Build(), seed);
        world.StartUp();
        return world;
    }
}

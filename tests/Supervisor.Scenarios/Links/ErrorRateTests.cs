using Supervisor.Records.Axes;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Links;

/// <summary>A line or a drive that loses a share of its exchanges: told, then stopped, and nobody else is.</summary>
public sealed class ErrorRateTests
{
    [Fact]
    public void OneDriveLosesAFewPercent_IsToldOnceAndMovesOn()
    {
        var world = Enabled(10);
        Lose(world, unit: 2, oneOf: 25);
        for (var i = 0; i < 40; i++)
        {
            world.Do("slide2", AxisCommandKind.MoveBy, i % 2 == 0 ? 300 : -300);
        }

        // Of the line's exchanges some one in two hundred is lost, which its share of 2 % lets pass.
        var told = Assert.Single(world.Faults);
        Assert.Equal((FaultCode.DriveErrorsFrequent, (short)1), (told.Code, told.Axis));
        Assert.InRange(world.Snapshot("slide2").ErrorPercent, 1, 7);
        Assert.Equal(0, world.Snapshot("slide").ErrorPercent);
        Assert.InRange(world.Board.Ports[0].Port.Read().ErrorPercent, 0.1, 1.9);
    }

    [Fact]
    public void OneDriveLosesHalf_ItsAxisIsStoppedAndAResetBeginsTheCountAnew()
    {
        var world = Enabled(4);
        world.Give("slide2", AxisCommandKind.MoveBy, 100_000);
        Lose(world, unit: 2, oneOf: 2);
        world.RunUntil(() => world.State("slide2") == AxisState.Faulted, 120, "the drive's axis is stopped");
        Assert.Equal(FaultCode.DriveErrorsTooMany, world.Snapshot("slide2").Fault);
        Assert.Equal(1, world.Faults.Count(fault => fault.Code == FaultCode.DriveErrorsTooMany));
        Assert.DoesNotContain(world.Faults, fault => fault.Axis is 0 or 2 or 3);
        world.RunUntil(() => !world.Drive("slide2").Plant.Powered, 5, "off");

        world.Ports[0].Interfere = null;
        world.Run(1);
        world.Do("slide2", AxisCommandKind.Reset);
        world.Do("slide2", AxisCommandKind.Enable);
        world.Do("slide2", AxisCommandKind.MoveBy, 100);
        Assert.True(world.Snapshot("slide2").ErrorPercent < 5);

        // What was not mended stops it again.
        Lose(world, unit: 2, oneOf: 2);
        world.RunUntil(() => world.State("slide2") == AxisState.Faulted, 120, "stopped again");
        Assert.Equal(2, world.Faults.Count(fault => fault.Code == FaultCode.DriveErrorsTooMany));
    }

    [Fact]
    public void WholeLineLosesHalf_EveryAxisOfItIsStopped()
    {
        var world = Enabled(4);
        Lose(world, unit: 0, oneOf: 2);
        world.RunUntil(() => world.Machine.Axes.All(axis => world.State(axis.Name) == AxisState.Faulted), 120, "all stopped");
        Assert.Contains(world.Faults, fault => fault is { Code: FaultCode.LineErrorsFrequent, Axis: -1, Port: 0 });
        Assert.Equal(FaultCode.LineErrorsTooMany, world.Snapshot("slide").Fault);
    }

    [Fact]
    public void DrivesSwitchedOff_AreLostLinksAndNoBadLine()
    {
        var world = Enabled(4);
        for (var i = 0; i < 20; i++)
        {
            world.Ports[0].Interfere = frame => frame.Unit != 1 ? Interference.LostRequest : Interference.None;
            world.Run(2);
            world.Ports[0].Interfere = null;
            world.Run(2);
        }

        Assert.Contains(world.Faults, fault => fault.Code == FaultCode.LinkLost);
        Assert.DoesNotContain(world.Faults, fault => fault.Code is FaultCode.LineErrorsFrequent or FaultCode.DriveErrorsFrequent);
    }

    private static void Lose(SimulatedWorld world, byte unit, int oneOf)
    {
        var random = new Random(5);
        world.Ports[0].Interfere = frame => (unit == 0 || frame.Unit == unit) && random.Next(oneOf) == 0 ? Interference.LostReply : Interference.None;
    }

    private static SimulatedWorld Enabled(int axes)
    {
        // A drive that hears its time-out less than once in many lost exchanges, so that only the share stops it.
        var world = new SimulatedWorld(new OneAxis
        {
            Axes = axes,
            Port = """ "cycleMs": 60, "responseTimeoutMs": 8, "retries": 2 """,
            Axis = OneAxis.Endless + """, "communicationTimeoutMs": 2000 """,
            CountsPerUnit = 100,
            Limits = """ "velocity": 400, "acceleration": 4000, "deceleration": 4000 """,
            Window = 0.5,
        }.Build(), 23);
        world.StartUp();
        foreach (var entry in world.Machine.Axes)
        {
            world.Do(entry.Name, AxisCommandKind.Enable);
        }

        return world;
    }
}

using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Homing;

/// <summary>Homing against an end stop: slowly, with little torque, until it presses and stands.</summary>
public sealed class HardStopTests
{
    [Theory]
    [InlineData("negative", false, 0)]
    [InlineData("positive", false, 200)]
    [InlineData("negative", true, 0)]
    public void Home_AgainstTheStop_SetsTheZeroThereAndBacksOff(string direction, bool inverted, double stopAt)
    {
        var world = Started(direction, inverted, stopAt, 1);
        var highest = 0.0;
        var fastest = 0.0;
        world.FrameBegun = _ =>
        {
            highest = Math.Max(highest, Math.Abs(world.Plant.Drives[0].Plant.Torque));
            fastest = Math.Max(fastest, Math.Abs(world.Plant.Drives[0].Plant.VelocityCounts));
        };
        world.Do("slide", AxisCommandKind.Home, within: 60);

        Assert.True(world.Snapshot("slide").Referenced);
        Assert.Equal(direction == "negative" ? stopAt + 2 : stopAt - 2, world.Snapshot("slide").Position, 0.2);
        Assert.Equal((inverted ? -1 : 1) * world.Snapshot("slide").Position, world.Drive("slide").CountedPosition / 1000, 0.2);
        Assert.InRange(highest, 20, 25.5);
        Assert.InRange(fastest / 1000, 5, 13);
        Assert.Empty(world.Faults);

        // The plant's own stop is where the zero now is.
        world.Do("slide", AxisCommandKind.Move, 100);
        Assert.Equal(100, world.Snapshot("slide").Position, 0.1);
    }

    [Fact]
    public void Home_WithTheStopOutOfReach_ExceedsItsDistance()
    {
        var world = Started("negative", inverted: false, 0, 2, "\"distanceLimit\": 5");
        var home = world.Give("slide", AxisCommandKind.Home);
        world.RunUntil(() => world.EndOf(home).Outcome != Outcome.None, 20, "ends");
        Assert.Equal(FaultCode.HomingDistanceExceeded, world.EndOf(home).Fault);
        Assert.False(world.Snapshot("slide").Referenced);
    }

    [Fact]
    public void Stop_WhilePressing_LeavesNoHalfReference()
    {
        var world = Started("negative", inverted: false, 0, 3);
        var home = world.Give("slide", AxisCommandKind.Home);
        world.RunUntil(() => world.Snapshot("slide").Torque < -20, 60, "presses");
        world.Board.Latch.RequestStop(0);
        world.RunUntil(() => world.State("slide") == AxisState.Disabled, 5, "off");
        Assert.Equal(Outcome.Replaced, world.EndOf(home).Outcome);
        Assert.False(world.Snapshot("slide").Referenced);
    }

    private static SimulatedWorld Started(string direction, bool inverted, double offset, ulong seed, string more = "\"timeoutMs\": 60000")
    {
        var axis = new OneAxis
        {
            Feedback = OneAxis.Words + """, { "name": "torque", "register": 6, "type": "s16", "scale": 0.1 }""",
            Command = OneAxis.Commands + """, { "name": "torqueLimit", "register": 74, "type": "u16", "scale": 0.1 }""",
            MoreParameters = """, { "name": "homingMethod", "register": 136, "type": "s16" }, { "name": "homeOffset", "register": 138, "type": "s32" }""",
            Axis = $$"""
                "inverted": {{(inverted ? "true" : "false")}}, "torque": { "homing": 30, "moving": 100 },
                "homing": { "slow": 10, "offset": {{offset}}, {{more}}, "hardStop": { "direction": "{{direction}}", "torque": 25, "forMs": 100, "backOff": 2 } },
                "reference": "incremental"
                """,
        };
        var world = new SimulatedWorld(axis.Build(), seed);
        world.StartUp();
        return world;
    }
}

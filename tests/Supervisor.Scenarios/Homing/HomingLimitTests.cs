using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Homing;

/// <summary>How far a search may go, and what only a person can vouch for.</summary>
public sealed class HomingLimitTests
{
    [Fact]
    public void Search_FartherThanItsLimit_FaultsAndStops()
    {
        var world = Started(With("\"distanceLimit\": 20"), 1);
        var from = world.Drive("slide").CountedPosition;
        var home = world.Give("slide", AxisCommandKind.Home);
        world.RunUntil(() => world.EndOf(home).Outcome != Outcome.None, 20, "ends");
        Assert.Equal(FaultCode.HomingDistanceExceeded, world.EndOf(home).Fault);
        world.RunUntil(() => world.State("slide") == AxisState.Faulted && !world.Drive("slide").Plant.Powered, 5, "off");
        Assert.InRange(Math.Abs(world.Drive("slide").CountedPosition - from) / 1000, 20, 24);
        Assert.False(world.Snapshot("slide").Referenced);
    }

    /// <summary>The drive's counter jumps when the zero is found: that is no way gone.</summary>
    [Fact]
    public void Search_WithinItsLimit_DoesNotTakeTheJumpOfTheCounterForAWay()
    {
        var world = Started(With("\"distanceLimit\": 180", offset: 300), 2, """ "position": [300, 500], "velocity": 200, "acceleration": 1500, "deceleration": 1500 """);
        Assert.Equal(0, world.Snapshot("slide").Position, 1.0);
        world.Do("slide", AxisCommandKind.Home);
        Assert.Equal(300, world.Snapshot("slide").Position, 0.5);
        Assert.Empty(world.Faults);
    }

    [Theory]
    [InlineData(35)]
    [InlineData(37)]
    public void MethodThatOnlySetsZero_NeedsAPersonsConfirmation(int method)
    {
        var world = Started($$""" "homing": { "method": {{method}} }, "reference": "incremental" """, 3);
        var home = world.Give("slide", AxisCommandKind.Home);
        world.RunUntil(() => world.EndOf(home).Outcome != Outcome.None, 1, "answered");
        Assert.Equal(Refusal.NeedsConfirmation, world.EndOf(home).Refusal);
        Assert.False(world.Drive("slide").Plant.Powered);

        home = world.Give("slide", AxisCommandKind.Home, confirmed: true);
        world.RunUntil(() => world.EndOf(home).Outcome != Outcome.None, 5, "homed");
        Assert.Equal(Outcome.Done, world.EndOf(home).Outcome);
        Assert.Equal(0, world.Snapshot("slide").Position, 0.1);
    }

    private static string With(string member, double offset = 0) =>
        $$""" "homing": { "method": 17, "fast": 40, "slow": 5, "offset": {{offset}}, "timeoutMs": 20000, {{member}} }, "reference": "incremental" """;

    private static SimulatedWorld Started(string axis, ulong seed, string? limits = null)
    {
        var world = new SimulatedWorld(
            new OneAxis
            {
                Axis = axis,
                Limits = limits ?? new OneAxis().Limits,
                MoreParameters = """, { "name": "homingMethod", "register": 136, "type": "s16" }, { "name": "homeOffset", "register": 138, "type": "s32" }""",
            }.Build(),
            seed);
        world.StartUp();
        return world;
    }
}

using Supervisor.Motion.Following;

namespace Supervisor.Motion.Tests.Following;

/// <summary>The least progress of a healthy axis: one that moves as commanded is never behind it, one that stands soon is.</summary>
public sealed class FollowingModelTests
{
    private const double Velocity = 100;
    private const double Ramp = 1_000;
    private static readonly TimeSpan Cycle = TimeSpan.FromMilliseconds(40);

    [Theory]
    [InlineData(1)]
    [InlineData(-1)]
    public void Step_AxisOnTheCommandedProfile_IsNeverBehind(int direction)
    {
        var model = default(FollowingModel);
        model.Begin(0, 0);
        for (var t = Cycle.TotalSeconds; t < 1.2; t += Cycle.TotalSeconds)
        {
            Assert.Equal(0, model.Step(direction * Profile(t), direction * 50, direction, Velocity, Ramp, Ramp, Cycle), 9);
        }
    }

    [Fact]
    public void Step_AxisThatStands_IsBehindByTheWayOfASlowerProfile()
    {
        var model = default(FollowingModel);
        model.Begin(0, 0);
        var behind = 0.0;
        for (var i = 0; i < 10; i++)
        {
            behind = model.Step(0, 500, 1, Velocity, Ramp, Ramp, Cycle);
        }

        // 0.4 s with 95 % of the speed and 70 % of the ramp: v t - v² / 2a, less a step's rounding.
        const double speed = Velocity * 0.95, ramp = Ramp * 0.7;
        Assert.Equal((speed * 0.4) - (speed * speed / (2 * ramp)), behind, 0.5);
    }

    [Fact]
    public void Step_PastItsTarget_IsNotBehindOnTheWayBack()
    {
        var model = default(FollowingModel);
        model.Begin(200, 150);
        foreach (var position in (double[])[230, 240, 235, 225, 215])
        {
            Assert.Equal(0, model.Step(position, 210, 1, Velocity, Ramp, Ramp, Cycle));
        }
    }

    [Fact]
    public void Step_AheadForAWhile_DoesNotHideAStandstillLater()
    {
        var model = default(FollowingModel);
        model.Begin(0, Velocity);
        model.Step(100, 500, 1, Velocity, Ramp, Ramp, Cycle);
        var behind = 0.0;
        for (var i = 0; i < 10; i++)
        {
            behind = model.Step(100, 500, 1, Velocity, Ramp, Ramp, Cycle);
        }

        Assert.InRange(behind, 30, 40);
    }

    [Fact]
    public void Step_ArgumentsOutOfRange_AreNamed()
    {
        var model = default(FollowingModel);
        Assert.Throws<ArgumentOutOfRangeException>("position", () => model.Begin(double.NaN, 0));
        Assert.Throws<ArgumentOutOfRangeException>("velocity", () => model.Step(0, 1, 1, 0, Ramp, Ramp, Cycle));
        Assert.Throws<ArgumentOutOfRangeException>("deceleration", () => model.Step(0, 1, 1, Velocity, Ramp, 0, Cycle));
    }

    /// <summary>A trapezoid of 50 units: 0.1 s and 5 units up, 0.4 s and 40 units at speed, the same down.</summary>
    private static double Profile(double t) =>
        t < 0.1 ? Ramp * t * t / 2
        : t < 0.5 ? 5 + (Velocity * (t - 0.1))
        : t < 0.6 ? 50 - (Ramp * (0.6 - t) * (0.6 - t) / 2)
        : 50;
}

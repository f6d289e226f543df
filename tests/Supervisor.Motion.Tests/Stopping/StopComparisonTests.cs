using Supervisor.Motion.Stopping;

namespace Supervisor.Motion.Tests.Stopping;

public sealed class StopComparisonTests
{
    // Kinematics: 100 mm/s at 500 mm/s² ramps down in 0.2 s and 10 mm. The earlier stop took 0.3 s and 15 mm: a reaction of 0.1 s, and 0.05 s by way.
    [Theory]
    [InlineData(100, 0.3, 15, 1)]
    [InlineData(-100, 0.3, 15, 1)]
    [InlineData(50, 0.2, 5, 1)]
    [InlineData(50, 0.3, 5, 1.5)]
    [InlineData(50, 0.2, 10, 2)]
    public void Excess_OfAStop_IsItsRatioToTheExpectedOne(double velocity, double seconds, double distance, double expected) =>
        Assert.Equal(expected, StopComparison.Excess(velocity, TimeSpan.FromSeconds(seconds), distance, 100, TimeSpan.FromSeconds(0.3), 15, 500), 9);

    [Fact]
    public void Excess_WithoutDeceleration_NamesTheArgument() =>
        Assert.Throws<ArgumentOutOfRangeException>("deceleration", () => StopComparison.Excess(1, TimeSpan.Zero, 1, 1, TimeSpan.Zero, 1, 0));
}

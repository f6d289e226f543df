using Supervisor.Motion.Stopping;

namespace Supervisor.Motion.Tests.Stopping;

/// <summary>Expected values computed from the textbook formulas v²/2a and, with jerk, v²/2a + va/2j if v ≥ a²/j, else v√(v/j).</summary>
public sealed class StopCalculationTests
{
    private const double Digits6 = 5e-7;

    [Theory]
    [InlineData(5, 10, 1.25, 0.5)]
    [InlineData(1, 10, 0.05, 0.1)]
    [InlineData(-5, 10, 1.25, 0.5)]
    [InlineData(0, 10, 0, 0)]
    public void Stop_ConstantDeceleration_HasDistanceAndTime(double v, double a, double distance, double seconds)
    {
        Assert.Equal(distance, StopCalculation.StoppingDistance(v, a), Digits6);
        Assert.Equal(TimeSpan.FromSeconds(seconds), StopCalculation.StoppingTime(v, a));
    }

    [Theory]
    [InlineData(5, 10, 30, 2.083333, 0.833333)]
    [InlineData(1, 10, 30, 0.182574, 0.365148)]
    [InlineData(-1, 10, 30, 0.182574, 0.365148)]
    [InlineData(0, 10, 30, 0, 0)]
    public void Stop_LimitedJerk_HasDistanceAndTime(double v, double a, double j, double distance, double seconds)
    {
        Assert.Equal(distance, StopCalculation.StoppingDistance(v, a, j), Digits6);
        Assert.Equal(seconds, StopCalculation.StoppingTime(v, a, j).TotalSeconds, Digits6);
    }

    [Fact]
    public void Stop_AtTheBorderOfTheTwoForms_IsTheSame()
    {
        // v = a²/j: the deceleration just reaches its limit.
        const double A = 10, J = 30, V = A * A / J;

        Assert.Equal(V * Math.Sqrt(V / J), StopCalculation.StoppingDistance(V, A, J), 1e-12);
        Assert.Equal(2 * Math.Sqrt(V / J), StopCalculation.StoppingTime(V, A, J).TotalSeconds, 2e-7);
    }

    [Theory]
    [InlineData(5, 10, 30)]
    [InlineData(1, 10, 30)]
    [InlineData(3, 7, 200)]
    public void Stop_LimitedJerk_AgreesWithIntegration(double v, double a, double j)
    {
        // Independent of the formula: jerk up, hold, jerk down, integrated in small steps.
        var peak = Math.Min(a, Math.Sqrt(v * j));
        double ramp = peak / j, hold = (v / peak) - ramp, end = (2 * ramp) + hold;
        const int Steps = 200_000;
        double dt = end / Steps, velocity = v, distance = 0;
        for (var i = 0; i < Steps; i++)
        {
            var t = (i + 0.5) * dt;
            var deceleration = t < ramp ? j * t : t < ramp + hold ? peak : j * (end - t);
            distance += (velocity - (deceleration * dt / 2)) * dt;
            velocity -= deceleration * dt;
        }

        Assert.Equal(0, velocity, 1e-6);
        Assert.Equal(distance, StopCalculation.StoppingDistance(v, a, j), 1e-5);
        Assert.Equal(end, StopCalculation.StoppingTime(v, a, j).TotalSeconds, 1e-6);
    }

    [Fact]
    public void Stop_BadArgument_NamesIt()
    {
        Assert.Equal("velocity", Assert.Throws<ArgumentOutOfRangeException>(() => StopCalculation.StoppingDistance(double.NaN, 1)).ParamName);
        Assert.Equal("deceleration", Assert.Throws<ArgumentOutOfRangeException>(() => StopCalculation.StoppingTime(1, 0)).ParamName);
        Assert.Equal("jerk", Assert.Throws<ArgumentOutOfRangeException>(() => StopCalculation.StoppingDistance(1, 1, 0)).ParamName);
    }
}

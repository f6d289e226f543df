using Supervisor.Runtime.Axes;
using Supervisor.Runtime.Tests.Support;

namespace Supervisor.Runtime.Tests.Axes;

/// <summary>Counters that wrap, and what their counts are in an axis's unit.</summary>
public sealed class CountingTests
{
    [Theory]
    [InlineData(16, 30_000L, 40_000L, 40_000L)]
    [InlineData(16, -30_000L, -40_000L, -40_000L)]
    [InlineData(32, 2_147_483_000L, 2_147_484_000L, 2_147_484_000L)]
    [InlineData(32, -2_147_483_000L, -2_147_484_500L, -2_147_484_500L)]
    public void Counter_OverItsWrap_GoesOn(int bits, long from, long to, long expected)
    {
        var counter = default(PositionCounter);
        Assert.False(counter.IsKnown);
        counter.Take(Wrapped(from, bits), bits);
        counter.Take(Wrapped(to, bits), bits);
        Assert.Equal(expected, counter.Counts);
    }

    [Fact]
    public void Counter_RoundAndRoundBothWays_LosesNothing()
    {
        const int seed = 4;
        var random = new Random(seed);
        foreach (var bits in new[] { 16, 32 })
        {
            var counter = default(PositionCounter);
            var truth = 0L;
            counter.Take(0, bits);
            var most = bits == 16 ? short.MaxValue : int.MaxValue;
            for (var i = 0; i < 10_000; i++)
            {
                truth += random.NextInt64(-most, most);
                counter.Take(Wrapped(truth, bits), bits);
                Assert.True(counter.Counts == truth, $"seed {seed}, step {i}, {bits} bits: {counter.Counts} for {truth}");
            }
        }
    }

    [Fact]
    public void Counter_Forgotten_BeginsAtItsNextReading()
    {
        var counter = default(PositionCounter);
        counter.Take(30_000, 16);
        counter.Take(-30_000, 16);
        Assert.Equal(35_536, counter.Counts);
        counter.Forget();
        counter.Take(-30_000, 16);
        Assert.Equal(-30_000, counter.Counts);
    }

    [Fact]
    public void Scale_Inverted_TurnsPositionsAndLeavesRatesAlone()
    {
        var scale = new AxisScale(Parts.Axis() with { Inverted = true, CountsPerUnit = 500 });
        Assert.Equal(-2, scale.ToUnit(1000));
        Assert.Equal(-1000, scale.ToCounts(2));
        Assert.Equal(1000, scale.ToCountRate(2));
        Assert.Equal(7, scale.ToUnit(scale.ToCounts(7)));
    }

    [Theory]
    [InlineData(10, 350, -10)]
    [InlineData(350, 10, 370)]
    [InlineData(0, 180, 180)]
    [InlineData(725, 20, 740)]
    [InlineData(-30, 340, -20)]
    [InlineData(100, 100, 100)]
    public void Nearest_OnAnEndlessAxis_IsTheShortestWay(double from, double target, double expected)
    {
        var scale = new AxisScale(Parts.Axis() with { EndlessPeriod = 360 });
        Assert.Equal(expected, scale.Nearest(from, target), 9);
        Assert.True(Math.Abs(scale.Nearest(from, target) - from) <= 180);
    }

    [Fact]
    public void Shown_OnAnEndlessAxis_StaysWithinOnePeriod()
    {
        var scale = new AxisScale(Parts.Axis() with { EndlessPeriod = 360 });
        Assert.Equal(350, scale.Shown(-10), 9);
        Assert.Equal(5, scale.Shown(725), 9);
        Assert.Equal(-10, new AxisScale(Parts.Axis()).Shown(-10));
        Assert.Equal(500, new AxisScale(Parts.Axis()).Nearest(10, 500));
    }

    private static long Wrapped(long value, int bits) => bits == 16 ? (short)value : (int)value;
}

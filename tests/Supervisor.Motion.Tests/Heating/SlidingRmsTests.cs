using Supervisor.Motion.Heating;

namespace Supervisor.Motion.Tests.Heating;

public sealed class SlidingRmsTests
{
    /// <summary>√(ΣT²t/Σt) of a cycle of 3 for 0.2 s, 1 for 0.6 s, 2 for 0.2 s, 0 for 0.5 s: computed from the textbook formula.</summary>
    [Theory]
    [InlineData(0, 0.1)]
    [InlineData(0.95, 0.1)]
    [InlineData(58.7, 0.02)]
    public void Value_OfACycle_IsTheTextbooks(double startS, double stepS)
    {
        var rms = new SlidingRms();
        var now = TimeSpan.FromSeconds(startS);
        foreach (var (torque, seconds) in new[] { (3.0, 0.2), (-1.0, 0.6), (2.0, 0.2), (0.0, 0.5) })
        {
            now = Feed(rms, torque, seconds, stepS, now);
        }

        Assert.Equal(1.460593, rms.Value, 5e-7);
    }

    [Fact]
    public void Value_BeforeAnything_IsNotKnown()
    {
        var rms = new SlidingRms();

        Assert.True(double.IsNaN(rms.Value));
        rms.Add(5, TimeSpan.Zero, TimeSpan.FromSeconds(3));
        Assert.True(double.IsNaN(rms.Value));
    }

    [Fact]
    public void Value_AfterAMinuteOfRest_HasForgottenTheLoad()
    {
        var rms = new SlidingRms();
        var now = Feed(rms, 10, 5, 0.04, TimeSpan.FromHours(50));
        now = Feed(rms, 0, 45, 0.04, now);
        Assert.Equal(Math.Sqrt(100 * 5 / 50.0), rms.Value, 0.01);

        Feed(rms, 0, 16, 0.04, now);
        Assert.Equal(0, rms.Value, 1e-9);
    }

    [Fact]
    public void Value_AfterALongSilence_IsOfTheNewSamplesAlone()
    {
        var rms = new SlidingRms();
        var now = Feed(rms, 10, 30, 0.5, TimeSpan.FromSeconds(1));
        Feed(rms, 2, 1, 0.5, now + TimeSpan.FromMinutes(10));

        Assert.Equal(2, rms.Value, 1e-9);
    }

    [Fact]
    public void Add_Always_AllocatesNothing()
    {
        var rms = new SlidingRms();
        var now = Feed(rms, 1, 1, 0.04, TimeSpan.Zero);
        var before = GC.GetAllocatedBytesForCurrentThread();
        Feed(rms, 3, 90, 0.04, now);
        var value = rms.Value;

        Assert.Equal(before, GC.GetAllocatedBytesForCurrentThread());
        Assert.Equal(3, value, 1e-9);
    }

    [Fact]
    public void Add_BadArgument_NamesIt()
    {
        var rms = new SlidingRms();

        Assert.Equal("value", Assert.Throws<ArgumentOutOfRangeException>(() => rms.Add(double.NaN, TimeSpan.Zero, TimeSpan.Zero)).ParamName);
        Assert.Equal("elapsed", Assert.Throws<ArgumentOutOfRangeException>(() => rms.Add(1, -TimeSpan.FromSeconds(1), TimeSpan.Zero)).ParamName);
    }

    private static TimeSpan Feed(SlidingRms rms, double value, double seconds, double stepS, TimeSpan now)
    {
        var steps = (int)Math.Round(seconds / stepS);
        for (var i = 0; i < steps; i++)
        {
            now += TimeSpan.FromSeconds(stepS);
            rms.Add(value, TimeSpan.FromSeconds(stepS), now);
        }

        return now;
    }
}

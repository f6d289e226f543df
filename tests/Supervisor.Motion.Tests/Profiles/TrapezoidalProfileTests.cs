using Supervisor.Motion.Profiles;

namespace Supervisor.Motion.Tests.Profiles;

/// <summary>Expected values computed from the textbook formulas of constant acceleration: h &lt; v²/2a + v²/2d is a triangle of peak √(2had/(a+d)).</summary>
public sealed class TrapezoidalProfileTests
{
    private const double Digits6 = 5e-7;

    [Theory]
    [InlineData(1, 5, 10, 10, 3.162278, 0.632456)]
    [InlineData(1, 5, 10, 5, 2.581989, 0.774597)]
    public void Plan_TooShortForTheVelocity_IsATriangle(double h, double v, double a, double d, double peak, double seconds)
    {
        var profile = TrapezoidalProfile.Plan(h, v, a, d);

        Assert.Equal(peak, profile.PeakVelocity, Digits6);
        Assert.Equal(0, profile.CruiseSeconds);
        Assert.Equal(seconds, profile.DurationSeconds, Digits6);
    }

    [Theory]
    [InlineData(10, 5, 10, 10, 0.5, 1.5, 0.5, 2.5)]
    [InlineData(10, 5, 10, 5, 0.5, 1.25, 1.0, 2.75)]
    public void Plan_LongEnough_IsATrapezoid(double h, double v, double a, double d, double ta, double tv, double td, double seconds)
    {
        var profile = TrapezoidalProfile.Plan(h, v, a, d);

        Assert.Equal(v, profile.PeakVelocity);
        Assert.Equal(ta, profile.AccelerationSeconds, 1e-12);
        Assert.Equal(tv, profile.CruiseSeconds, 1e-12);
        Assert.Equal(td, profile.DecelerationSeconds, 1e-12);
        Assert.Equal(TimeSpan.FromSeconds(seconds), profile.Duration);
    }

    [Fact]
    public void Plan_ExactlyTheRamps_HasNoMiddlePhase()
    {
        var profile = TrapezoidalProfile.Plan(2.5, 5, 10, 10);

        Assert.Equal(5, profile.PeakVelocity);
        Assert.Equal(0, profile.CruiseSeconds);
    }

    [Fact]
    public void Plan_NoDistance_IsOverAtOnce()
    {
        var profile = TrapezoidalProfile.Plan(0, 5, 10, 10);

        Assert.Equal(TimeSpan.Zero, profile.Duration);
        Assert.Equal(0, profile.PositionAt(TimeSpan.FromSeconds(1)));
        Assert.Equal(0, profile.VelocityAt(TimeSpan.Zero));
    }

    [Fact]
    public void PositionAt_BeforeAndAfter_IsStartAndDistanceExactly()
    {
        var profile = TrapezoidalProfile.Plan(-0.1, 0.7, 3, 11);

        Assert.Equal(0, profile.PositionAt(TimeSpan.FromSeconds(-1)));
        Assert.Equal(-0.1, profile.PositionAt(profile.Duration + TimeSpan.FromTicks(1)));
        Assert.Equal(0, profile.VelocityAt(profile.Duration + TimeSpan.FromTicks(1)));
    }

    [Fact]
    public void PositionAt_InEachPhase_FollowsTheFormula()
    {
        // h 10, v 5, a 10, d 5: 0.5 s up (1.25), 1.25 s even (6.25), 1 s down (2.5).
        var profile = TrapezoidalProfile.Plan(10, 5, 10, 5);

        Assert.Equal(0.3125, profile.PositionAt(TimeSpan.FromSeconds(0.25)), 1e-12);
        Assert.Equal(2.5, profile.VelocityAt(TimeSpan.FromSeconds(0.25)), 1e-12);
        Assert.Equal(1.25 + 2.5, profile.PositionAt(TimeSpan.FromSeconds(1.0)), 1e-12);
        Assert.Equal(5, profile.VelocityAt(TimeSpan.FromSeconds(1.0)));
        Assert.Equal(10 - 0.625, profile.PositionAt(TimeSpan.FromSeconds(2.25)), 1e-12);
        Assert.Equal(2.5, profile.VelocityAt(TimeSpan.FromSeconds(2.25)), 1e-12);
    }

    [Fact]
    public void VelocityAt_Integrated_IsPosition()
    {
        const int Seed = 20_240_611;
        TestContext.Current.TestOutputHelper?.WriteLine($"seed {Seed}");
        var random = new Random(Seed);
        var triangles = 0;
        for (var run = 0; run < 200; run++)
        {
            double h = (random.NextDouble() - 0.5) * 200, v = 1 + (random.NextDouble() * 50);
            double a = 1 + (random.NextDouble() * 500), d = 1 + (random.NextDouble() * 500);
            var profile = TrapezoidalProfile.Plan(h, v, a, d);
            triangles += profile.CruiseSeconds == 0 ? 1 : 0;

            AssertIntegrates(profile, v);
        }

        Assert.InRange(triangles, 10, 190);
    }

    private static void AssertIntegrates(TrapezoidalProfile profile, double limit)
    {
        const int Steps = 2_000;
        var step = TimeSpan.FromTicks((profile.Duration.Ticks / Steps) + 1);
        var integral = 0.0;
        for (var i = 0; i < Steps; i++)
        {
            integral += profile.VelocityAt((i * step) + (step / 2)) * step.TotalSeconds;
            var position = profile.PositionAt((i + 1) * step);

            Assert.Equal(integral, position, 1e-3 * (1 + Math.Abs(profile.Distance)));
            Assert.True(Math.Abs(profile.VelocityAt(i * step)) <= limit + 1e-9);
        }
    }

    [Fact]
    public void Plan_Backwards_MirrorsForwards()
    {
        var forwards = TrapezoidalProfile.Plan(10, 5, 10, 5);
        var backwards = TrapezoidalProfile.Plan(-10, 5, 10, 5);

        for (var ms = 0; ms < 3_000; ms += 50)
        {
            var t = TimeSpan.FromMilliseconds(ms);
            Assert.Equal(-forwards.PositionAt(t), backwards.PositionAt(t));
            Assert.Equal(-forwards.VelocityAt(t), backwards.VelocityAt(t));
        }
    }

    [Fact]
    public void Plan_LongerThanTimeCanTell_SaturatesItsDuration() =>
        Assert.Equal(TimeSpan.MaxValue, TrapezoidalProfile.Plan(1e300, 1, 1, 1).Duration);

    [Theory]
    [InlineData(double.NaN, 1, 1, 1, "distance")]
    [InlineData(1, 0, 1, 1, "maximumVelocity")]
    [InlineData(1, 1, -1, 1, "acceleration")]
    [InlineData(1, 1, 1, double.PositiveInfinity, "deceleration")]
    public void Plan_BadArgument_NamesIt(double h, double v, double a, double d, string name) =>
        Assert.Equal(name, Assert.Throws<ArgumentOutOfRangeException>(() => TrapezoidalProfile.Plan(h, v, a, d)).ParamName);

    [Fact]
    public void PlanAndRead_SteadyState_AllocateNothing()
    {
        static double Run(int moves)
        {
            var sum = 0.0;
            for (var i = 1; i <= moves; i++)
            {
                var profile = TrapezoidalProfile.Plan(i, 5, 10, 5);
                sum += profile.PositionAt(profile.Duration / 3) + profile.VelocityAt(profile.Duration / 2);
            }

            return sum;
        }

        Run(10);
        var before = GC.GetAllocatedBytesForCurrentThread();
        var total = Run(1_000);
        Assert.Equal(0, GC.GetAllocatedBytesForCurrentThread() - before);
        Assert.True(total > 0);
    }
}

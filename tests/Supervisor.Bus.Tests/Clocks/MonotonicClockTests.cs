namespace Supervisor.Bus.Tests.Clocks;

public sealed class MonotonicClockTests
{
    public static TheoryData<string> Kinds => ["system", "portable"];

    // Waits that are slept through, and those so short that they are waited awake.
    public static MatrixTheoryData<string, int> KindsAndMicroseconds => new(["system", "portable"], [1, 35, 50, 51, 120, 3000]);

    [Theory]
    [MemberData(nameof(KindsAndMicroseconds))]
    public void WaitUntil_DeadlineAhead_ReturnsNotBeforeIt(string kind, int microseconds)
    {
        var clock = Clock(kind);
        for (var i = 0; i < 20; i++)
        {
            var deadline = clock.Now + TimeSpan.FromMicroseconds(microseconds);

            clock.WaitUntil(deadline);

            Assert.True(clock.Now >= deadline);
        }
    }

    [Theory]
    [MemberData(nameof(Kinds))]
    public void WaitUntil_DeadlinePassed_Returns(string kind)
    {
        var clock = Clock(kind);

        clock.WaitUntil(clock.Now - TimeSpan.FromHours(1));
        clock.WaitUntil(TimeSpan.FromSeconds(-1));
    }

    [Theory]
    [MemberData(nameof(Kinds))]
    public void Now_ReadAgain_NeverGoesBack(string kind)
    {
        var clock = Clock(kind);
        var last = clock.Now;
        for (var i = 0; i < 1000; i++)
        {
            var now = clock.Now;
            Assert.True(now >= last);
            last = now;
        }
    }

    [Fact]
    public void Now_OnLinux_IsOnTheRuntimesMonotonicCounter()
    {
        Assert.SkipUnless(OperatingSystem.IsLinux(), "The runtime's counter is CLOCK_MONOTONIC on Linux only.");
        var portable = new PortableMonotonicClock();

        var before = portable.Now;
        var now = MonotonicClock.System.Now;

        Assert.InRange(now, before, portable.Now);
    }

    private static IMonotonicClock Clock(string kind) => kind == "portable" ? new PortableMonotonicClock() : MonotonicClock.System;
}

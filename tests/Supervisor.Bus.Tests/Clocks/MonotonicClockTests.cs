namespace Supervisor.Bus.Tests.Clocks;

public sealed class MonotonicClockTests
{
    public static TheoryData<string> Kinds => ["system", "portable"];

    [Theory]
    [MemberData(nameof(Kinds))]
    public void WaitUntil_DeadlineAhead_ReturnsNotBeforeIt(string kind)
    {
        var clock = Clock(kind);
        var deadline = clock.Now + TimeSpan.FromMilliseconds(3);

        clock.WaitUntil(deadline);

        Assert.True(clock.Now >= deadline);
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

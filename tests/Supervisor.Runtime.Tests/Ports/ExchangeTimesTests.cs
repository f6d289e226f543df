using Supervisor.Runtime.Ports;

namespace Supervisor.Runtime.Tests.Ports;

public sealed class ExchangeTimesTests
{
    [Fact]
    public void Percentile_OfNothing_IsZero() => Assert.Equal(TimeSpan.Zero, new ExchangeTimes().Percentile(0.5));

    [Fact]
    public void Percentiles_FallIntoTheRightClass()
    {
        var times = new ExchangeTimes();
        for (var i = 0; i < 99; i++)
        {
            times.Add(TimeSpan.FromMilliseconds(3.02));
        }

        times.Add(TimeSpan.FromMilliseconds(40));
        Assert.Equal(3.05, times.Percentile(0.5).TotalMilliseconds, 3);
        Assert.Equal(3.05, times.Percentile(0.99).TotalMilliseconds, 3);
        Assert.Equal(40.05, times.Percentile(1).TotalMilliseconds, 3);
    }

    [Fact]
    public void Times_BeyondTheClasses_CountInTheLast()
    {
        var times = new ExchangeTimes();
        times.Add(TimeSpan.FromSeconds(9));
        times.Add(TimeSpan.FromSeconds(-1));
        Assert.Equal(0.05, times.Percentile(0.5).TotalMilliseconds, 3);
        Assert.Equal(102.35, times.Percentile(1).TotalMilliseconds, 3);
    }

    [Fact]
    public void Past_Fades()
    {
        var times = new ExchangeTimes();
        for (var i = 0; i < 10_000; i++)
        {
            times.Add(TimeSpan.FromMilliseconds(2));
        }

        for (var i = 0; i < 10_000; i++)
        {
            times.Add(TimeSpan.FromMilliseconds(8));
        }

        Assert.InRange(times.Percentile(0.5).TotalMilliseconds, 7.9, 8.1);
    }
}

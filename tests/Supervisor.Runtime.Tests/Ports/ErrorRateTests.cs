using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Ports;

namespace Supervisor.Runtime.Tests.Ports;

/// <summary>Shares of failed exchanges, held against a list that is counted anew each time.</summary>
public sealed class ErrorRateTests
{
    private static readonly ErrorRateDefinition Hundred = new(100, 4, 20);

    [Fact]
    public void Add_AtRandom_CountsWhatAListOfTheLastOnesCounts()
    {
        var random = new Random(11);
        var limits = new ErrorRateDefinition(130, 10, 40);
        var rate = new ErrorRate(limits);
        var all = new List<bool>();
        var levels = new int[3];
        for (var i = 0; i < 20_000; i++)
        {
            // The line gets worse and better again.
            var failed = random.NextDouble() < 0.3 * (1 + Math.Sin(i / 500.0));
            all.Add(failed);
            var reached = rate.Add(failed);
            var count = all.Skip(Math.Max(0, all.Count - limits.Exchanges)).Count(each => each);
            Assert.Equal(100.0 * count / limits.Exchanges, rate.Percent, 9);
            Assert.Equal(count >= limits.FaultCount, rate.Level == ErrorLevel.Fault && count * 2 >= limits.FaultCount && count >= limits.FaultCount);
            Assert.True(count < limits.WarningCount || rate.Level >= ErrorLevel.Warning);
            Assert.True(count * 2 >= limits.WarningCount || rate.Level == ErrorLevel.Good);
            Assert.True(reached == ErrorLevel.Good || reached == rate.Level);
            levels[(int)reached]++;
        }

        Assert.All(levels, count => Assert.NotEqual(0, count));
    }

    [Fact]
    public void Add_OnTheEdge_ReachesALevelOnceUntilItFellBelowHalf()
    {
        var rate = new ErrorRate(Hundred);
        Assert.Equal(1, Reached(rate, 4, 96, ErrorLevel.Warning));

        // Between half the share and the whole of it nothing is told, however often it goes up and down.
        for (var i = 0; i < 20; i++)
        {
            Assert.Equal(0, Reached(rate, 2, 98, ErrorLevel.Warning) + Reached(rate, 5, 95, ErrorLevel.Warning));
            Assert.Equal(ErrorLevel.Warning, rate.Level);
        }

        Assert.Equal(0, Reached(rate, 0, 200, ErrorLevel.Warning));
        Assert.Equal(ErrorLevel.Good, rate.Level);
        Assert.Equal(1, Reached(rate, 4, 96, ErrorLevel.Warning));
    }

    [Fact]
    public void Add_EveryExchangeFails_WarnsThenIsAFaultAndAResetBeginsAnew()
    {
        var rate = new ErrorRate(Hundred);
        var reached = Enumerable.Range(0, 100).Select(_ => rate.Add(failed: true)).ToList();
        Assert.Equal(ErrorLevel.Warning, reached[3]);
        Assert.Equal(ErrorLevel.Fault, reached[19]);
        Assert.Equal(98, reached.Count(each => each == ErrorLevel.Good));
        rate.Clear();
        Assert.Equal(0, rate.Percent);
        Assert.Equal(ErrorLevel.Fault, Enumerable.Range(0, 20).Select(_ => rate.Add(failed: true)).ToList()[^1]);
    }

    [Fact]
    public void Quality_SilenceThatEndsAsALoss_IsNotCounted_OneThatEndsInAnAnswerIs()
    {
        var quality = new LineQuality(Hundred, 2);
        for (var i = 0; i < 1000; i++)
        {
            Assert.Equal(default, quality.Note(0, failed: true));
        }

        quality.Lose(0);
        Assert.Equal(default, quality.Note(0, failed: false));
        Assert.Equal(0, quality.Percent);

        for (var i = 0; i < 10; i++)
        {
            quality.Note(0, failed: true);
        }

        Assert.Equal((ErrorLevel.Warning, ErrorLevel.Warning), quality.Note(0, failed: false));
        Assert.Equal(10, quality.PercentOf(0));
        Assert.Equal(0, quality.PercentOf(1));

        // Together with the other's they make the line's.
        for (var i = 0; i < 10; i++)
        {
            quality.Note(1, failed: true);
        }

        Assert.Equal((ErrorLevel.Warning, ErrorLevel.Fault), quality.Note(1, failed: false));
        quality.Reset(1);
        Assert.Equal(0, quality.Percent);
        Assert.Equal(10, quality.PercentOf(1));
    }

    [Fact]
    public void Minutes_OfAnHour_ForgetWhatIsOlder()
    {
        var minutes = new ExchangeMinutes();
        for (var minute = 0; minute < 90; minute++)
        {
            for (var i = 0; i < 10; i++)
            {
                minutes.Note(failed: i == 0, TimeSpan.FromMinutes(minute) + TimeSpan.FromSeconds(i));
            }
        }

        var now = TimeSpan.FromMinutes(89) + TimeSpan.FromSeconds(30);
        Assert.Equal((20, 2), minutes.Of(1, now));
        Assert.Equal((610, 61), minutes.Of(60, now));
        Assert.Equal((0, 0), minutes.Of(60, now + TimeSpan.FromHours(2)));
    }

    private static int Reached(ErrorRate rate, int failed, int good, ErrorLevel level) =>
        Enumerable.Range(0, failed).Count(_ => rate.Add(failed: true) == level) + Enumerable.Range(0, good).Count(_ => rate.Add(failed: false) == level);
}

using Supervisor.History.Entries;
using Supervisor.History.Statistics;
using Supervisor.Records.Faults;
using static Supervisor.History.Tests.HistoryFixture;

namespace Supervisor.History.Tests.Statistics;

/// <summary>Statistics out of a file.</summary>
public sealed class StatisticsReadingTests : IDisposable
{
    private readonly HistoryFixture _fixture = new();

    // 100 s on the monotonic clock.
    private DateTimeOffset Moment(double seconds) => _fixture.Now.Utc + TimeSpan.FromSeconds(seconds - 100);

    public void Dispose() => _fixture.Dispose();

    [Fact]
    public void NoFileYet_NothingIsKnown()
    {
        var told = _fixture.Reader.Statistics(new StatisticsQuestion(Moment(0), Moment(60)));

        Assert.Equal((TimeSpan.FromSeconds(60), 0), (told.NotKnown, told.Faults));
    }

    [Fact]
    public void PeriodThatEndsBeforeItBegins_IsRefused() =>
        Assert.Throws<ArgumentException>(() => _fixture.Reader.Statistics(new StatisticsQuestion(Moment(0), Moment(0))));

    [Fact]
    public async Task MoreThanAPage_AndAPeriodInTheMidst_CountsWhatIsInside()
    {
        using (var store = _fixture.Open())
        {
            store.Append(new StartRecord(TimeSpan.Zero, "1", "bench", "hash"));
            for (var number = 1; number <= 2_500; number++)
            {
                store.Append(Fault(number * 10));
                store.Append(new ReturnRecord(TimeSpan.FromMilliseconds((number * 10) + 5), "dibber", FaultCode.FollowingError, ReturnStep.Ready));
                if (number % 500 == 0)
                {
                    await store.FlushAsync();
                }
            }
        }

        var told = _fixture.Reader.Statistics(new StatisticsQuestion(Moment(5.001), Moment(20.001)));

        Assert.Equal((1_500, 1_500, 1_500), (told.Faults, told.Dependability.Failures, told.Dependability.Repairs));
        Assert.Equal((7.5, 7.5), (Math.Round(told.Dependability.Up.TotalSeconds, 2), Math.Round(told.Dependability.Down.TotalSeconds, 2)));
        Assert.Equal(TimeSpan.Zero, told.NotKnown + told.NotRunning);
    }

    [Fact]
    public async Task RunThatBroke_LivedUntilItsLastRecordOfAnyKind()
    {
        using (var store = _fixture.Open())
        {
            store.Append(new StartRecord(TimeSpan.FromSeconds(1), "1", "bench", "hash"));
            store.Append(Fault(10_000));
            store.Append(Refused(40_000));
            store.Append(new StartRecord(TimeSpan.FromSeconds(60), "1", "bench", "hash"));
            await store.FlushAsync();
        }

        var told = _fixture.Reader.Statistics(new StatisticsQuestion(Moment(1), Moment(90)) { RunsAt = TimeSpan.FromSeconds(100) });

        Assert.Equal((9.0 + 30, 30.0, 20.0), (told.Dependability.Up.TotalSeconds, told.Dependability.Down.TotalSeconds, told.NotKnown.TotalSeconds));
    }

    [Fact]
    public void LikeStops_AreComparedFirstWithLast()
    {
        var told = new RecordedDays(0, 24).Start(0)
            .Stop(1, 100, 0.20, 12).Stop(2, -101, 0.22, 13).Stop(3, 102, 0.30, 17)
            .Stop(4, 40, 0.1, 3).Stop(5, 100, 0.5, 30, category: 0).Stop(6, 0, 0.1, 0).End(20).Result().Stops;

        Assert.Equal([(0, 1), (1, 1), (1, 3)], told.Select(group => (group.Category, (int)group.Count)));
        var like = told[2];
        Assert.Equal((100, 102, 0.20, 0.30, 0.24), (like.Slowest, like.Fastest, like.First.Time.TotalSeconds, like.Last.Time.TotalSeconds, like.MeanTime.TotalSeconds));
        Assert.Equal((12, 17, 14), (like.First.Distance, like.Last.Distance, like.MeanDistance));
    }
}

using Supervisor.History.Clocks;
using Supervisor.History.Reading;
using static Supervisor.History.Tests.HistoryFixture;

namespace Supervisor.History.Tests;

/// <summary>A board without a battery clock starts in the past; times told later must not lie.</summary>
public sealed class ClockTests : IDisposable
{
    private static readonly DateTimeOffset Past = DateTimeOffset.UnixEpoch;
    private static readonly DateTimeOffset Today = new(2031, 5, 6, 7, 0, 0, TimeSpan.Zero);

    private readonly HistoryFixture _fixture = new();

    public void Dispose() => _fixture.Dispose();

    [Fact]
    public async Task Query_ClockSetLater_WorksOutTheTimesBefore()
    {
        using var store = _fixture.Open();
        _fixture.Now = new(TimeSpan.FromSeconds(10), Past.AddSeconds(10), UtcQuality.Unsynchronised);
        await store.AppendAsync(Fault(9_000));
        var before = Assert.Single(_fixture.All());
        Assert.Equal((Past.AddSeconds(9), UtcQuality.Unsynchronised), (before.Utc, before.Quality));

        _fixture.Now = new(TimeSpan.FromSeconds(60), Today, UtcQuality.Synchronised);
        store.NoteClock();
        await store.FlushAsync();

        var after = Assert.Single(_fixture.All());
        Assert.Equal((Today.AddSeconds(-51), UtcQuality.Derived), (after.Utc, after.Quality));
        Assert.Equal(before.Sequence, after.Sequence);
    }

    [Fact]
    public async Task Query_AnotherBootWasSet_LeavesThisOneAlone()
    {
        _fixture.Now = new(TimeSpan.FromSeconds(10), Past.AddSeconds(10), UtcQuality.Unsynchronised);
        using (var store = _fixture.Open())
        {
            await store.AppendAsync(Fault(9_000));
        }

        _fixture.Now = new(TimeSpan.FromSeconds(60), Today, UtcQuality.Synchronised);
        using (var store = _fixture.Open(options => options with { BootId = "boot-2" }))
        {
            await store.AppendAsync(Fault(59_000));
        }

        var all = _fixture.All();
        Assert.Equal((Today.AddSeconds(-1), UtcQuality.Synchronised), (all[0].Utc, all[0].Quality));
        Assert.Equal((Past.AddSeconds(9), UtcQuality.Unsynchronised), (all[1].Utc, all[1].Quality));
    }

    [Fact]
    public async Task Query_ClockSteppedBack_KeepsTheOrderOfWriting()
    {
        using var store = _fixture.Open();
        _fixture.Now = new(TimeSpan.FromSeconds(100), Today, UtcQuality.Synchronised);
        await store.AppendAsync(Fault(100_000));
        _fixture.Now = new(TimeSpan.FromSeconds(200), Today.AddHours(-1), UtcQuality.Synchronised);
        await store.AppendAsync(Fault(200_000));

        var all = _fixture.All();
        Assert.Equal([2L, 1L], all.Select(stored => stored.Sequence));
        Assert.Equal([Today.AddHours(-1), Today], all.Select(stored => stored.Utc));
    }

    /// <summary>
    /// Two boots of a board without a battery clock: each starts in 1970, is set to today while it runs, and the first is put back by an hour. Sequence
    /// numbers tell the order; times before a clock was set are reckoned back from when it was (worked out by hand).
    /// </summary>
    [Fact]
    public async Task Query_StartIn1970ThenTodayThenAnHourBack_TellsOrderAndTimes()
    {
        using (var store = _fixture.Open())
        {
            await AtAsync(store, second: 10, Past.AddSeconds(10), UtcQuality.Unsynchronised, faultAt: 9);
            await AtAsync(store, second: 60, Today, UtcQuality.Synchronised, faultAt: 58);
            await AtAsync(store, second: 3_660, Today, UtcQuality.Synchronised, faultAt: 3_660);
        }

        using (var store = _fixture.Open(options => options with { BootId = "boot-2" }))
        {
            await AtAsync(store, second: 5, Past.AddSeconds(5), UtcQuality.Unsynchronised, faultAt: 4);
            await AtAsync(store, second: 30, Today.AddHours(2), UtcQuality.Synchronised, faultAt: 29);
        }

        var all = _fixture.All().Reverse().ToArray();
        Assert.Equal([1L, 2, 3, 4, 5], all.Select(stored => stored.Sequence));
        Assert.Equal([9.0, 58, 3_660, 4, 29], all.Select(stored => stored.Record.At.TotalSeconds));
        Assert.Equal(
            [(Today.AddSeconds(-51), UtcQuality.Derived), (Today.AddSeconds(-2), UtcQuality.Synchronised), (Today, UtcQuality.Synchronised),
                (Today.AddHours(2).AddSeconds(-26), UtcQuality.Derived), (Today.AddHours(2).AddSeconds(-1), UtcQuality.Synchronised)],
            all.Select(stored => (stored.Utc, stored.Quality)));

        // Each set clock and the step are written down; pages and filters go by the times that are shown.
        Assert.Equal(5, _fixture.Scalar("SELECT count(*) FROM clock_anchors"));
        Assert.Equal([5L, 4], _fixture.Reader.Query(new HistoryFilter { Since = Today.AddHours(1) }).Records.Select(stored => stored.Sequence));
        Assert.Equal([5L, 4, 3], _fixture.Reader.Query(new HistoryFilter { Since = Today }).Records.Select(stored => stored.Sequence));

        async Task AtAsync(HistoryStore store, int second, DateTimeOffset utc, UtcQuality quality, int faultAt)
        {
            _fixture.Now = new(TimeSpan.FromSeconds(second), utc, quality);
            await store.AppendAsync(Fault(faultAt * 1_000));
        }
    }

    [Fact]
    public async Task NoteClock_Anchors_AreWrittenOnlyWhenTheClocksRelationChanges()
    {
        using var store = _fixture.Open();
        for (var second = 0; second < 20; second++)
        {
            var step = second < 10 ? 0 : 3_600;
            _fixture.Now = new(TimeSpan.FromSeconds(second), Today.AddSeconds(second + step), UtcQuality.Synchronised);
            store.NoteClock();
            await store.FlushAsync();
        }

        Assert.Equal(2, _fixture.Scalar("SELECT count(*) FROM clock_anchors"));
        Assert.Empty(_fixture.All());
    }

    [Fact]
    public async Task Query_Since_CountsTheTimeThatIsShown()
    {
        using var store = _fixture.Open();
        _fixture.Now = new(TimeSpan.FromSeconds(10), Past.AddSeconds(10), UtcQuality.Unsynchronised);
        await store.AppendAsync(Fault(9_000));
        _fixture.Now = new(TimeSpan.FromSeconds(60), Today, UtcQuality.Synchronised);
        await store.AppendAsync(Fault(60_000));

        Assert.Equal(2, _fixture.Reader.Query(new HistoryFilter { Since = Today.AddSeconds(-51) }).Records.Count);
        Assert.Equal(2L, Assert.Single(_fixture.Reader.Query(new HistoryFilter { Since = Today.AddSeconds(-50) }).Records).Sequence);
    }

    [Fact]
    public async Task Append_ClockAtTheEdgeOfTime_IsStillKept()
    {
        using var store = _fixture.Open();
        _fixture.Now = new(TimeSpan.FromDays(400), DateTimeOffset.MinValue, UtcQuality.Unsynchronised);
        Assert.Equal(1, await store.AppendAsync(Fault(1)));
        _fixture.Now = new(TimeSpan.Zero, DateTimeOffset.MaxValue, UtcQuality.Unsynchronised);
        Assert.Equal(2, await store.AppendAsync(Fault(int.MaxValue)));

        Assert.Equal(2, _fixture.All().Count);
    }
}

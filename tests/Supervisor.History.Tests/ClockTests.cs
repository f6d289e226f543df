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

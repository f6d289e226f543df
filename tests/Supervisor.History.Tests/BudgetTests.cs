using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Supervisor.Records.Faults;
using static Supervisor.History.Tests.HistoryFixture;

namespace Supervisor.History.Tests;

/// <summary>Bytes a day: a fault that repeats itself all day is told as first, last and count once its share is used up, and whatever is new is kept.</summary>
public sealed class BudgetTests : IDisposable
{
    // The least that may be set: 200 kB for faults at once, and as much again over a day.
    private const long Budget = 1_000_000;
    private const int Repeats = 200;

    private readonly HistoryFixture _fixture = new();

    public void Dispose() => _fixture.Dispose();

    [Fact]
    public async Task Append_RepeatsBeyondTheShare_AreCollapsed()
    {
        using var store = Open();
        await RepeatAsync(store, 1, Repeats);

        var kept = Faults();
        Assert.InRange(kept.Count, 5, Repeats / 2);
        Assert.True(store.Health is { Good: true, IsSparing: true });
        Assert.Equal(Repeats - kept.Count, store.Health.Collapsed);
        Assert.InRange(store.Health.BytesWritten, 200_000, 300_000);

        await store.FlushAsync();

        // Newest first: the one that stands for many, then those that were kept one by one.
        kept = Faults();
        Assert.Equal(Repeats, kept.Sum(stored => stored.Count));
        Assert.Equal(store.Health.Collapsed, kept[0].Count);
        Assert.Equal((TimeSpan.FromMilliseconds(kept.Count), TimeSpan.FromMilliseconds(Repeats)), (kept[0].Record.At, kept[0].Last));
        Assert.All(kept.Skip(1), stored => Assert.Equal((1L, stored.Record.At), (stored.Count, stored.Last)));
        Assert.Equal(NoticeKind.Sparing, Assert.Single(_fixture.All().Select(stored => stored.Record).OfType<NoticeRecord>()).Notice);
    }

    [Fact]
    public async Task Append_NewOnesBeyondTheShare_AreKeptAtOnce()
    {
        using var store = Open();
        await RepeatAsync(store, 1, Repeats);
        Assert.True(store.Health.IsSparing);

        for (var axis = 0; axis < 20; axis++)
        {
            Assert.NotEqual(0, await store.AppendAsync(Fault(axis, $"axis {axis}")));
            Assert.NotEqual(0, await store.AppendAsync(Fault(axis, $"axis {axis}", FaultCode.LinkLost)));
        }

        // The share of another kind is not touched.
        Assert.NotEqual(0, await store.AppendAsync(new StopRecord(TimeSpan.Zero, "dibber", "mm", "front guard", 1, 200, 12.5, null, null)));
        Assert.NotEqual(0, await store.AppendAsync(new StopRecord(TimeSpan.Zero, "dibber", "mm", "front guard", 1, 200, 12.5, null, null)));
    }

    [Fact]
    public async Task AppendAsync_Repeat_EndsWithTheRecordThatStandsForIt()
    {
        using var store = Open();
        await RepeatAsync(store, 1, Repeats);

        var repeat = store.AppendAsync(Fault(Repeats + 1));
        await Until(() => store.Health.Collapsed == Repeats + 1 - Faults().Count);
        Assert.False(repeat.IsCompleted);
        await store.FlushAsync();

        Assert.Equal(Faults()[0].Sequence, await repeat);
    }

    [Fact]
    public async Task Append_ADayLater_KeepsEachByItselfAgain()
    {
        using var store = Open();
        await RepeatAsync(store, 1, Repeats);
        var before = Faults().Count;

        _fixture.Now = _fixture.Now with { Monotonic = _fixture.Now.Monotonic + TimeSpan.FromDays(1), Utc = _fixture.Now.Utc.AddDays(1) };
        await store.AppendAsync(Fault(1_001));
        await store.AppendAsync(Fault(1_002));

        Assert.False(store.Health.IsSparing);
        Assert.Equal(before + 3, Faults().Count);
        Assert.Equal(Repeats + 2, Faults().Sum(stored => stored.Count));
    }

    [Fact]
    public async Task Append_AQuarterOfAnHourLater_TellsTheCount()
    {
        using var store = Open();
        await RepeatAsync(store, 1, Repeats);
        var before = Faults().Count;

        _fixture.Now = _fixture.Now with { Monotonic = _fixture.Now.Monotonic + TimeSpan.FromMinutes(15), Utc = _fixture.Now.Utc.AddMinutes(15) };
        store.NoteClock();
        await Until(() => Faults().Count == before + 1);

        Assert.True(store.Health.IsSparing);
        Assert.Equal(Repeats, Faults().Sum(stored => stored.Count));
    }

    [Fact]
    public async Task Open_Again_GoesOnWithWhatWasLeft()
    {
        using (var store = Open())
        {
            await RepeatAsync(store, 1, Repeats);
        }

        // What was held is told at the end.
        Assert.Equal(Repeats, Faults().Sum(stored => stored.Count));
        var before = Faults().Count;
        using (var store = Open())
        {
            await RepeatAsync(store, 1_001, 1_000 + Repeats);
        }

        // A new day would keep as many again.
        Assert.Equal(2 * Repeats, Faults().Sum(stored => stored.Count));
        Assert.InRange(Faults().Count - before, 1, before / 2);
    }

    [Fact]
    public async Task Append_RepeatsOfACommand_AreCollapsedWithoutTheirNumbers()
    {
        using var store = Open();
        for (var number = 1; number <= 100; number++)
        {
            store.Append(Refused(number) with { Command = $"move dibber {number}" });

            // Somebody who waits brings it to the disk at once, as a fault beside it would.
            await store.AppendAsync(Fault(number, "dibber", (FaultCode)number));
        }

        await store.FlushAsync();
        var commands = All(RecordKind.Command);
        Assert.InRange(commands.Count, 1, 60);
        Assert.Equal(100, commands.Sum(stored => stored.Count));
    }

    private HistoryStore Open() => _fixture.Open(options => options with { BytesPerDay = Budget });

    private IReadOnlyList<StoredRecord> Faults() => All(RecordKind.Fault);

    private IReadOnlyList<StoredRecord> All(RecordKind kind) => _fixture.Reader.Query(new HistoryFilter { Kinds = [kind], Limit = 1_000 }).Records;

    // One commit each, so that each costs what a fault costs.
    private static async Task RepeatAsync(HistoryStore store, int first, int last)
    {
        var done = store.Health.Committed + store.Health.Collapsed;
        for (var number = first; number <= last; number++)
        {
            var before = store.Health.Committed;
            Assert.True(store.Append(Fault(number)));
            await Until(() => store.Health is var health && (health.Committed > before || health.Collapsed > 0));
        }

        await Until(() => store.Health.Committed + store.Health.Collapsed >= done + last - first + 1);
    }
}

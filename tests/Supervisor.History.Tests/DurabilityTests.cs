using Supervisor.History.Entries;
using static Supervisor.History.Tests.HistoryFixture;

namespace Supervisor.History.Tests;

/// <summary>What must not be lost goes at once, with all that was told before it; what only explains gathers for a while.</summary>
public sealed class DurabilityTests : IDisposable
{
    // Longer than any test: whatever is on disk did not wait for it.
    private static readonly TimeSpan Never = TimeSpan.FromMinutes(1);

    private readonly HistoryFixture _fixture = new();

    public void Dispose() => _fixture.Dispose();

    [Fact]
    public async Task Append_Bulk_WaitsForAFaultAndGoesBeforeIt()
    {
        using var store = _fixture.Open(options => options with { BulkInterval = Never });
        await store.FlushAsync();
        var before = _fixture.ClockReads;
        for (var number = 1; number <= 10; number++)
        {
            Assert.True(store.Append(Refused(number)));
        }

        Assert.Empty(_fixture.All());
        Assert.True(store.Append(Fault(11)));
        await Until(() => store.Health.Committed == 11);

        Assert.Equal(before + 1, _fixture.ClockReads);
        var all = _fixture.All().Reverse().ToArray();
        Assert.Equal(Enumerable.Range(1, 11).Select(n => (long)n), all.Select(stored => stored.Sequence));
        Assert.All(all.Take(10), stored => Assert.IsType<CommandRecord>(stored.Record));
        Assert.IsType<FaultRecord>(all[10].Record);
    }

    [Fact]
    public async Task Append_BulkAlone_ComesAfterTheInterval()
    {
        using var store = _fixture.Open(options => options with { BulkInterval = TimeSpan.FromMilliseconds(20) });

        store.Append(Refused(1));
        await Until(() => store.Health.Committed == 1);
        store.Append(Refused(2));
        await Until(() => store.Health.Committed == 2);
    }

    [Fact]
    public async Task Append_ABatchOfBulk_DoesNotWait()
    {
        using var store = _fixture.Open(options => options with { BulkInterval = Never });
        for (var number = 1; number <= 300; number++)
        {
            Assert.True(store.Append(Refused(number)));
        }

        await Until(() => store.Health.Committed >= 256);
        Assert.True(store.Stop(Bound));
        Assert.Equal(300, store.Health.Committed);
    }

    [Fact]
    public async Task AppendAsync_Bulk_IsPressedOnByWhoWaits()
    {
        using var store = _fixture.Open(options => options with { BulkInterval = Never });

        Assert.Equal(1, await store.AppendAsync(Refused(1)));
    }

    [Fact]
    public async Task Append_FaultBehindMuchBulk_IsInTheVeryNextCommit()
    {
        using var store = _fixture.Open(options => options with { BulkInterval = Never });
        await store.FlushAsync();
        _fixture.HoldWriter();
        var before = _fixture.ClockReads;
        store.Append(Fault(0));
        await Until(() => _fixture.ClockReads > before);
        for (var number = 1; number <= 1_500; number++)
        {
            Assert.True(store.Append(Refused(number)));
        }

        var fault = store.AppendAsync(Fault(1_501));
        _fixture.ReleaseWriter();

        Assert.Equal(1_502, await fault);
        Assert.Equal(before + 2, _fixture.ClockReads);
    }

    [Fact]
    public async Task Append_OneOfManyThatCanNotBeStored_IsLostAlone()
    {
        using var store = _fixture.Open(options => options with { BulkInterval = Never });
        await store.FlushAsync();
        _fixture.HoldWriter();
        var before = _fixture.ClockReads;
        store.Append(Fault(0));
        await Until(() => _fixture.ClockReads > before);
        for (var number = 1; number <= 700; number++)
        {
            Assert.True(store.Append(number == 345 ? new UnknownRecord(TimeSpan.Zero, 99, null, "") : Fault(number)));
        }

        _fixture.ReleaseWriter();
        await Until(() => store.Health.Committed + store.Health.Lost >= 702);

        // The loss is told by a record of its own.
        Assert.Equal(1, store.Health.Lost);
        var kept = _fixture.All().Reverse().Select(stored => stored.Record).OfType<FaultRecord>().Select(record => (int)record.CommandId);
        Assert.Equal(Enumerable.Range(0, 701).Where(number => number != 345), kept);
    }
}

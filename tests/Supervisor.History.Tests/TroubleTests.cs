using Supervisor.History.Entries;
using static Supervisor.History.Tests.HistoryFixture;

namespace Supervisor.History.Tests;

/// <summary>A disk that fails, a queue that is full, a second writer: the caller never waits and never gets an exception.</summary>
public sealed class TroubleTests : IDisposable
{
    private readonly HistoryFixture _fixture = new();

    public void Dispose() => _fixture.Dispose();

    [Fact]
    public async Task Append_QueueFull_CountsWhatIsLostAndRecordsIt()
    {
        using var store = _fixture.Open(options => options with { QueueCapacity = 8 });
        await HoldAsync(store);

        // Six common places, two more for what is vital.
        var taken = Enumerable.Range(1, 20).Count(number => store.Append(Refused(number)));
        Assert.Equal(6, taken);
        Assert.True(store.Append(Fault(21)));
        Assert.True(store.Append(Fault(22)));
        Assert.False(store.Append(Fault(23)));
        Assert.Equal(15, store.Health.Lost);
        _fixture.ReleaseWriter();
        await Until(() => _fixture.All().Count == 10);

        var records = _fixture.All().Reverse().Select(stored => stored.Record).ToArray();
        Assert.Equal([1UL, 2, 3, 4, 5, 6], records.OfType<CommandRecord>().Select(record => record.CommandId));
        Assert.Equal([0UL, 21, 22], records.OfType<FaultRecord>().Select(record => record.CommandId));
        var notice = Assert.IsType<NoticeRecord>(records[^1]);
        Assert.Equal((NoticeKind.RecordsLost, 15L), (notice.Notice, notice.Count));
        Assert.Contains("15 records, 1 fault among them", notice.Message, StringComparison.Ordinal);
        Assert.Contains("from 0.007 s to 0.023 s", notice.Message, StringComparison.Ordinal);
    }

    [Fact]
    public async Task AppendAsync_QueueFull_EndsWithZero()
    {
        using var store = _fixture.Open(options => options with { QueueCapacity = 8 });
        await HoldAsync(store);
        for (var number = 1; number <= 8; number++)
        {
            Assert.True(store.Append(Fault(number)));
        }

        Assert.Equal(0, await store.AppendAsync(Fault(9)));
        _fixture.ReleaseWriter();
    }

    [Fact]
    public async Task Append_DiskFails_IsKeptAndToldOnceTheDiskIsBack()
    {
        var folder = Path.Combine(_fixture.Folder, "not-mounted-yet");
        _fixture.Path = Path.Combine(folder, "history.db");
        using var store = _fixture.Open();
        var waiting = Enumerable.Range(1, 5).Select(number => store.AppendAsync(Fault(number))).ToArray();
        await Until(() => _fixture.Pauses > 3);

        Assert.False(store.Health.Good);
        Assert.Contains(folder, store.Health.Message, StringComparison.Ordinal);
        Assert.Equal(_fixture.Now.Monotonic, store.Health.FailingSince);
        Assert.DoesNotContain(waiting, task => task.IsCompleted);

        Directory.CreateDirectory(folder);
        var sequences = await Task.WhenAll(waiting);
        Assert.Equal(sequences.Order(), sequences);
        Assert.DoesNotContain(0L, sequences);
        await Until(() => _fixture.All().Count == 6);
        Assert.True(store.Health.Good);
        var records = _fixture.All().Reverse().Select(stored => stored.Record).ToArray();
        Assert.Equal([1UL, 2, 3, 4, 5], records.OfType<FaultRecord>().Select(record => record.CommandId));
        Assert.Equal(NoticeKind.DiskBack, Assert.Single(records.OfType<NoticeRecord>()).Notice);
    }

    [Fact]
    public async Task Stop_DiskFails_EndsAndGivesUpWhatIsLeft()
    {
        _fixture.Path = Path.Combine(_fixture.Folder, "never", "history.db");
        using var store = _fixture.Open();
        var waiting = Enumerable.Range(1, 600).Select(number => store.AppendAsync(Fault(number))).ToArray();
        await Until(() => _fixture.Pauses > 0);

        Assert.True(store.Stop(Bound));

        Assert.All(await Task.WhenAll(waiting), sequence => Assert.Equal(0, sequence));
        Assert.Equal(600, store.Health.Lost);
    }

    [Fact]
    public async Task Append_AfterStop_IsCountedAndDoesNotThrow()
    {
        using var store = _fixture.Open();
        Assert.True(store.Stop(Bound));

        Assert.False(store.Append(Fault(1)));
        Assert.Equal(0, await store.AppendAsync(Fault(2)));
        await store.FlushAsync();
        store.NoteClock();
        Assert.Equal(2, store.Health.Lost);
        Assert.True(store.Stop(Bound));
    }

    [Fact]
    public async Task Open_WhileAnotherWrites_WaitsForItAndLosesNothing()
    {
        using var second = OpenBeside(out var first);
        var waiting = second.AppendAsync(Fault(2));
        await Until(() => _fixture.Pauses > 1);
        Assert.False(second.Health.Good);
        Assert.Equal(1, await first.AppendAsync(Fault(1)));

        Assert.True(first.Stop(Bound));

        Assert.Equal(2, await waiting);
        Assert.Equal([1UL, 2], _fixture.All().Reverse().Select(stored => stored.Record).OfType<FaultRecord>().Select(record => record.CommandId));
    }

    [Fact]
    public async Task Append_LockedByAnotherProgram_IsKeptOnceItLetsGo()
    {
        using var store = _fixture.Open();
        await store.AppendAsync(Fault(1));
        Task<long> waiting;
        using (var connection = _fixture.Connect())
        using (var transaction = connection.BeginTransaction(deferred: false))
        {
            waiting = store.AppendAsync(Fault(2));
            await Until(() => !store.Health.Good);
            Assert.Contains("locked", store.Health.Message, StringComparison.Ordinal);
        }

        Assert.Equal(2, await waiting);
        Assert.Equal([1UL, 2], _fixture.All().Reverse().Select(stored => stored.Record).OfType<FaultRecord>().Select(record => record.CommandId));
    }

    [Fact]
    public async Task Open_WhileAnotherHasGivenNumbersAndItsDiskFails_WaitsForItsEnd()
    {
        using var first = _fixture.Open();
        await first.AppendAsync(Fault(1));
        Task<long> waiting;
        HistoryStore second;
        Task<long> later;
        using (var connection = _fixture.Connect())
        using (var transaction = connection.BeginTransaction(deferred: false))
        {
            waiting = first.AppendAsync(Fault(2));
            await Until(() => !first.Health.Good);
            second = _fixture.Open();
            later = second.AppendAsync(Fault(3));

            // Not the database that is locked by another program: the place of the one writer is taken.
            await Until(() => second.Health.Message.Contains(".lock", StringComparison.Ordinal));
        }

        using (second)
        {
            Assert.Equal(2, await waiting);
            Assert.True(first.Stop(Bound));
            Assert.Equal([1UL, 2], _fixture.All().Reverse().Select(stored => stored.Record).OfType<FaultRecord>().Select(record => record.CommandId).Take(2));
            Assert.True(await later > 2);
        }

        Assert.Equal([1UL, 2, 3], _fixture.All().Reverse().Select(stored => stored.Record).OfType<FaultRecord>().Select(record => record.CommandId));
    }

    [Fact]
    public async Task AppendAsync_RecordThatCanNotBeStored_IsLostAloneAndCounted()
    {
        using var store = _fixture.Open();
        await HoldAsync(store);
        var before = store.AppendAsync(Fault(1));
        var odd = store.AppendAsync(new UnknownRecord(TimeSpan.Zero, 99, null, ""));
        var after = store.AppendAsync(Fault(2));
        _fixture.ReleaseWriter();

        Assert.NotEqual(0, await before);
        Assert.Equal(0, await odd);
        Assert.NotEqual(0, await after);
        Assert.Equal(1, store.Health.Lost);
        Assert.True(store.Health.Good);
        Assert.Equal([0UL, 1, 2], _fixture.All().Reverse().Select(stored => stored.Record).OfType<FaultRecord>().Select(record => record.CommandId));
    }

    [Fact]
    public async Task Append_ClockThatThrows_EndsTheHistoryAndNotItsCaller()
    {
        using var store = _fixture.Open(options => options with { Clock = () => throw new NotSupportedException("no clock") });

        Assert.Equal(0, await store.AppendAsync(Fault(1)));
        await Until(() => !store.Health.Good);
        Assert.Contains("no clock", store.Health.Message, StringComparison.Ordinal);
        Assert.False(store.Append(Fault(2)));
    }

    private HistoryStore OpenBeside(out HistoryStore first)
    {
        first = _fixture.Open();
        Assert.True(first.FlushAsync().Wait(Bound, TestContext.Current.CancellationToken));
        return _fixture.Open();
    }

    // Holds the writer inside a commit of record 0, so that the queue fills.
    private async Task HoldAsync(HistoryStore store)
    {
        await store.FlushAsync();
        _fixture.HoldWriter();
        var before = _fixture.ClockReads;
        Assert.True(store.Append(Fault(0)));
        await Until(() => _fixture.ClockReads > before);
    }
}

using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using static Supervisor.History.Tests.HistoryFixture;

namespace Supervisor.History.Tests;

public sealed class QueryTests : IDisposable
{
    private readonly HistoryFixture _fixture = new();

    public void Dispose() => _fixture.Dispose();

    [Fact]
    public void Query_NoFileYet_IsEmpty()
    {
        Assert.Empty(_fixture.All());
        Assert.False(File.Exists(_fixture.Path));
    }

    [Fact]
    public async Task Query_Pages_StayRightWhileRecordsArrive()
    {
        using var store = _fixture.Open();
        for (var number = 1; number <= 25; number++)
        {
            store.Append(Fault(number));
        }

        await store.FlushAsync();
        var seen = new List<long>();
        long? before = null;
        do
        {
            var page = _fixture.Reader.Query(new HistoryFilter { Limit = 10, BeforeSequence = before });
            seen.AddRange(page.Records.Select(stored => stored.Sequence));
            before = page.NextBefore;
            await store.AppendAsync(Fault(100));
        }
        while (before is not null);

        Assert.Equal(Enumerable.Range(1, 25).Reverse().Select(n => (long)n), seen);
    }

    [Fact]
    public async Task Query_LastPageExactlyFull_HasNoNext()
    {
        using var store = _fixture.Open();
        for (var number = 1; number <= 10; number++)
        {
            await store.AppendAsync(Fault(number));
        }

        Assert.Null(_fixture.Reader.Query(new HistoryFilter { Limit = 10 }).NextBefore);
        Assert.Equal(2, _fixture.Reader.Query(new HistoryFilter { Limit = 9 }).NextBefore);
    }

    [Fact]
    public async Task Query_Filters_LetOnlyTheirsPass()
    {
        using var store = _fixture.Open();
        store.Append(Fault(1, "dibber", FaultCode.LinkLost));
        store.Append(Fault(2, "tray", FaultCode.LinkLost));
        store.Append(Fault(3, "dibber", FaultCode.FollowingError));
        store.Append(new RecoveryRecord(TimeSpan.Zero, "dibber", FaultCode.LinkLost, RecoveryStep.Begun, 1, 3));
        store.Append(Refused(5));
        await store.FlushAsync();

        AssertFinds(new HistoryFilter { Kinds = [RecordKind.Fault] }, 3, 2, 1);
        AssertFinds(new HistoryFilter { Kinds = [RecordKind.Recovery, RecordKind.Command] }, 5, 4);
        AssertFinds(new HistoryFilter { Axis = "tray" }, 2);
        AssertFinds(new HistoryFilter { Code = FaultCode.LinkLost }, 4, 2, 1);
        AssertFinds(new HistoryFilter { Axis = "dibber", Code = FaultCode.LinkLost, Kinds = [RecordKind.Fault] }, 1);
        AssertFinds(new HistoryFilter { AfterSequence = 3 }, 5, 4);
        AssertFinds(new HistoryFilter { AfterSequence = 1, BeforeSequence = 4 }, 3, 2);
        AssertFinds(new HistoryFilter { Axis = "dibber' OR 1=1 --" });
        AssertFinds(new HistoryFilter { Limit = -5 }, 5);
    }

    [Fact]
    public async Task Query_KindOfANewerVersion_IsHandedOn()
    {
        using var store = _fixture.Open();
        await store.AppendAsync(Fault(1));
        _fixture.Execute("INSERT INTO records (sequence, boot, monotonic_ns, utc_us, utc_quality, kind, axis, detail) SELECT 2, boot, monotonic_ns, utc_us, utc_quality, 99, 'dibber', '{\"x\":1}' FROM records");

        var record = Assert.IsType<UnknownRecord>(_fixture.All()[0].Record);
        Assert.Equal((99, "dibber", "{\"x\":1}"), (record.KindNumber, record.Axis, record.Detail));
    }

    [Fact]
    public async Task Query_NewerShapeThatThisVersionCanRead_IsRead()
    {
        using (var store = _fixture.Open())
        {
            await store.AppendAsync(Fault(1));
        }

        _fixture.Execute("PRAGMA user_version = 99; ALTER TABLE records ADD COLUMN of_a_later_shape INTEGER;");
        Assert.Single(_fixture.All());

        _fixture.Execute("UPDATE meta SET value = '99' WHERE key = 'oldestReader'");
        Assert.Contains("newer version", Assert.Throws<HistoryException>(_fixture.All).Message, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Query_DamagedDetail_StillGivesTheRecord()
    {
        using var store = _fixture.Open();
        await store.AppendAsync(new EndRecord(TimeSpan.Zero, "reason"));
        foreach (var detail in new[] { "'{'", "'[]'", "'{\"reason\":5}'", "NULL" })
        {
            _fixture.Execute($"UPDATE records SET detail = {detail}");
            Assert.Equal("", Assert.IsType<EndRecord>(Assert.Single(_fixture.All()).Record).Reason);
        }
    }

    [Fact]
    public async Task Query_ByClassIncidentTextAndTime_FindsThose()
    {
        using var store = _fixture.Open();
        var at = _fixture.Now;
        store.Append(Fault(1_000, "dibber", FaultCode.LinkLost));
        store.Append(Refused(2_000));
        store.Append(Fault(50_000, "tray", FaultCode.Encoder));
        store.Append(new CommandRecord(TimeSpan.FromSeconds(90), 0, "enable 50%_off", "night shift", null, Outcome.Done, Refusal.None, FaultCode.None, "done"));
        await store.FlushAsync();

        AssertFinds(new HistoryFilter { Class = FaultClass.Link }, 1);
        AssertFinds(new HistoryFilter { Incident = 1 }, 2, 1);
        AssertFinds(new HistoryFilter { Incident = 3 }, 3);
        AssertFinds(new HistoryFilter { Text = "LINK lo" }, 1);
        AssertFinds(new HistoryFilter { Text = "NIGHT" }, 4);
        AssertFinds(new HistoryFilter { Text = "50%_" }, 4);
        AssertFinds(new HistoryFilter { Text = "50__" });
        AssertFinds(new HistoryFilter { Text = "180 mm" }, 2);

        // The name of a member is no text of the record, and neither is a quote that only JSON needs.
        AssertFinds(new HistoryFilter { Text = "holder" });
        Assert.All("23467", digit => AssertFinds(new HistoryFilter { Text = $"{digit}" }));
        AssertFinds(new HistoryFilter { Text = "\"" });
        AssertFinds(new HistoryFilter { Until = at.Utc.AddSeconds(-50), Since = at.Utc.AddSeconds(-98.5) }, 2);
        AssertFinds(new HistoryFilter { OldestFirst = true, AfterSequence = 1, Limit = 2 }, 2, 3);
    }

    [Fact]
    public async Task Query_PagesWhileAWriterAppends_HoldEachRecordOnce()
    {
        using var store = _fixture.Open();
        for (var i = 0; i < 500; i++)
        {
            store.Append(Fault(i, i % 3 == 0 ? "tray" : "dibber"));
        }

        await store.FlushAsync();
        var seen = new List<long>();
        using var ends = new CancellationTokenSource();
        var writing = Task.Run(async () =>
        {
            for (var i = 500; !ends.IsCancellationRequested; i++)
            {
                await store.AppendAsync(Fault(i, "tray"));
            }
        }, TestContext.Current.CancellationToken);
        for (long? before = null; ;)
        {
            var page = _fixture.Reader.Query(new HistoryFilter { Axis = "tray", Limit = 10, BeforeSequence = before });
            seen.AddRange(page.Records.Select(record => record.Sequence));
            if ((before = page.NextBefore) is null)
            {
                break;
            }
        }

        await ends.CancelAsync();
        await writing;

        // From the newest of the first page down, without a gap or a repetition: every third of the first 500, all of those after.
        Assert.Equal(Enumerable.Range(1, (int)seen[0]).Reverse().Select(n => (long)n).Where(n => n > 500 || n % 3 == 1), seen);
        Assert.True(_fixture.All()[0].Sequence > seen[0], "nothing was written meanwhile");
    }

    [Fact]
    public async Task Missing_RecordsOfAFullRing_AreCounted()
    {
        using var store = _fixture.Open(options => options with { MaximumPerKind = 10 });
        for (var i = 0; i < 25; i++)
        {
            await store.AppendAsync(Fault(i));
        }

        var kept = _fixture.All();
        Assert.Equal(25 - kept.Count, _fixture.Reader.Missing(0, 25));
        Assert.Equal(0, _fixture.Reader.Missing(kept[^1].Sequence, 25));
        Assert.Equal(0, _fixture.Reader.Missing(25, 25));
    }

    private void AssertFinds(HistoryFilter filter, params long[] sequences) =>
        Assert.Equal(sequences, _fixture.Reader.Query(filter).Records.Select(stored => stored.Sequence));
}

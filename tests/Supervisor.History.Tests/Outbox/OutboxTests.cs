using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Outbox;
using Supervisor.History.Reading;
using static Supervisor.History.Tests.HistoryFixture;

namespace Supervisor.History.Tests.Outbox;

/// <summary>The outbox in the history's file: what a channel has to tell begins with its first run, and a change is there as a whole or not at all.</summary>
public sealed class OutboxTests : IDisposable
{
    private readonly HistoryFixture _fixture = new();

    private OutboxReader Reader => new(_fixture.Reader);

    public void Dispose() => _fixture.Dispose();

    [Fact]
    public async Task Open_NewChannel_BeginsBehindWhatWasBefore()
    {
        using (var before = _fixture.Open())
        {
            await before.AppendAsync(Fault(1_000));
        }

        using (var store = _fixture.Open(WithChannels("night")))
        {
            Assert.Equal(2, await store.AppendAsync(Fault(60_000)));
        }

        // A second run leaves the place where it is.
        using var again = _fixture.Open(WithChannels("night", "desk"));
        await again.FlushAsync();

        Assert.Equal(1, Reader.Look("night", 0)!.Through);
        Assert.Equal(2, Reader.Look("desk", 0)!.Through);
        Assert.Null(Reader.Look("nobody", 0));
        Assert.Equal([2L], _fixture.Reader.IncidentsAfter(1, 10));
    }

    [Fact]
    public async Task Open_ChannelThatCameBack_BeginsAnew()
    {
        await Once(WithChannels("night"));
        await Once(WithChannels());
        await Once(WithChannels("night"));

        Assert.Equal(2, Reader.Look("night", 0)!.Through);
    }

    [Fact]
    public async Task ChangeAsync_Message_IsReadAsItWasPut()
    {
        using var store = _fixture.Open(WithChannels("night"));
        var made = Stamp(10);
        var message = new OutboxMessage(1, "night", OutboxKind.Incident, "identity-1") { Incident = 5, Priority = 2, Cause = "Fault/1/dibber", Made = made };

        Assert.True(await store.ChangeAsync(new OutboxChange("night") { Through = 5, Messages = [message, message with { Number = 2, Identity = "identity-2" }] }));
        var written = message with { Content = new OutboxContent("subject", "body\nö", _fixture.Now.Utc) };
        Assert.True(await store.ChangeAsync(new OutboxChange("night") { Messages = [written] }));
        var sent = written with { State = OutboxState.Sent, Done = Stamp(20), Answer = "250 taken" };
        Assert.True(await store.ChangeAsync(new OutboxChange("night") { Messages = [sent] }));

        var look = Reader.Look("night", 10)!;
        Assert.Equal((5L, 2L), (look.Through, look.LastNumber));
        Assert.Equal("identity-2", Assert.Single(look.Waiting).Identity);
        Assert.Equal(sent, Assert.Single(look.Done));
        Assert.Equal([2L, 1L], Reader.Page(new OutboxFilter()).Select(each => each.Number));
        Assert.Empty(Reader.Orphans(["night"]));
        Assert.Equal([2L], Reader.Orphans(["desk"]).Select(each => each.Number));
    }

    [Fact]
    public async Task ChangeAsync_LowerPlace_DoesNotGoBack()
    {
        using var store = _fixture.Open(WithChannels("night"));

        await store.ChangeAsync(new OutboxChange("night") { Through = 7 });
        await store.ChangeAsync(new OutboxChange("night") { Through = 3 });

        Assert.Equal(7, Reader.Look("night", 0)!.Through);
    }

    [Fact]
    public async Task ChangeAsync_OneThatCannotBeStored_StoresNothingOfItAndKeepsTheOthers()
    {
        using var store = _fixture.Open(WithChannels("night"));
        var good = new OutboxMessage(1, "night", OutboxKind.Incident, "identity-1") { Made = Stamp(10) };

        _fixture.HoldWriter();
        var bad = store.ChangeAsync(new OutboxChange("night") { Through = 9, Messages = [good with { Number = 2, Identity = null! }] });
        var fine = store.ChangeAsync(new OutboxChange("night") { Messages = [good] });
        var fault = store.AppendAsync(Fault(1_000));
        _fixture.ReleaseWriter();

        Assert.False(await bad);
        Assert.True(await fine);
        Assert.True(await fault > 0);
        Assert.Equal(0, Reader.Look("night", 0)!.Through);
        Assert.Equal([1L], Reader.Page(new OutboxFilter()).Select(each => each.Number));
    }

    [Fact]
    public async Task ChangeAsync_ManyDone_KeepsTheNewestAndWhatWaits()
    {
        using var store = _fixture.Open(WithChannels("night"));
        var waiting = new OutboxMessage(1, "night", OutboxKind.Incident, "waits") { Made = Stamp(1) };
        var done = Enumerable.Range(2, 1_100).Select(number => new OutboxMessage(number, "night", OutboxKind.Incident, $"{number}") { Made = Stamp(1), State = OutboxState.Sent, Done = Stamp(2) });

        await store.ChangeAsync(new OutboxChange("night") { Messages = [waiting, .. done] });

        var kept = Reader.Page(new OutboxFilter { Limit = 5_000 });
        Assert.Equal(1_001, kept.Count);
        Assert.Equal((1_101L, 1L), (kept[0].Number, kept[^1].Number));
    }

    /// <summary>A file that was damaged and begun anew has its channels, so that its own first incident, which says so, is told.</summary>
    [Fact]
    public async Task Open_DamagedFile_ChannelBeginsBeforeTheNotice()
    {
        await Once(WithChannels("night"));
        await File.WriteAllBytesAsync(_fixture.Path, [.. (await File.ReadAllBytesAsync(_fixture.Path, TestContext.Current.CancellationToken)).Take(40), .. new byte[8_000]], TestContext.Current.CancellationToken);
        File.Delete(_fixture.Path + "-wal");

        using var store = _fixture.Open(WithChannels("night"));
        await store.FlushAsync();

        Assert.Equal(0, Reader.Look("night", 0)!.Through);
        Assert.Equal([1L], _fixture.Reader.IncidentsAfter(0, 10));
        Assert.Equal(NoticeKind.FileSetAside, Assert.IsType<NoticeRecord>(_fixture.Reader.Incident(1)!.Summary.Lead.Record).Notice);
    }

    [Theory]
    [InlineData("boot-1", UtcQuality.Unsynchronised, 40)] // Within a boot the monotonic clock decides.
    [InlineData("boot-2", UtcQuality.Synchronised, 3_600)] // Both clocks were set: the time of day.
    [InlineData("boot-2", UtcQuality.Unsynchronised, 140)] // Neither tells: no longer ago than this boot lasts.
    public void Age_AcrossBoots_IsWhatTheClocksTell(string boot, UtcQuality quality, int seconds)
    {
        var stamp = new OutboxStamp(boot, new ClockReading(TimeSpan.FromSeconds(100), _fixture.Now.Utc, quality));
        var now = new ClockReading(TimeSpan.FromSeconds(140), _fixture.Now.Utc + TimeSpan.FromHours(1), UtcQuality.Synchronised);

        Assert.Equal(TimeSpan.FromSeconds(seconds), stamp.Age("boot-1", now));
    }

    private static Func<HistoryOptions, HistoryOptions> WithChannels(params string[] channels) => options => options with { Channels = channels };

    private OutboxStamp Stamp(int seconds) => new("boot-1", _fixture.Now with { Monotonic = TimeSpan.FromSeconds(seconds) });

    private async Task Once(Func<HistoryOptions, HistoryOptions> change)
    {
        using var store = _fixture.Open(change);
        await store.AppendAsync(Fault(1_000));
    }
}

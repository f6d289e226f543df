using Supervisor.History.Entries;
using Supervisor.History.Reading;

namespace Supervisor.History.Tests.Storms;

/// <summary>
/// A disk in trouble under a storm of faults, by the shim that stands before it: no space left, input/output errors of writes and of syncs, a file system
/// that turned read-only. The storm goes on once the disk is back, the history says so, and nothing that was acknowledged is missing, also after a loss
/// of power at any later instant: a sync that failed makes nothing safe, and the next one that succeeds does not make it so.
/// </summary>
public sealed class DiskTroubleTests
{
    [Theory]
    [InlineData('F', "the disk is full")]
    [InlineData('E', "input/output error")]
    [InlineData('S', "input/output error")]
    [InlineData('R', "read-only")]
    public async Task Storm_DiskInTrouble_GoesOnOnceItIsBack(char trouble, string says)
    {
        using var shim = await DiskShim.MakeAsync();
        var notes = Path.Combine(shim.Folder.FullName, "acknowledged");
        IReadOnlyList<Acknowledged> told;
        using (var storm = StormProcess.Start(shim.Folder.FullName, 1, records: null, shim.Environment()))
        {
            await HistoryFixture.Until(() => Count(notes) > 20);
            shim.SetTrouble(trouble);
            await storm.SeeAsync(line => line.Contains(says, StringComparison.Ordinal));
            var before = Count(notes);
            shim.SetTrouble('0');
            await storm.SeeAsync(line => line == "good");
            await HistoryFixture.Until(() => Count(notes) > before + 20);
            storm.Kill();
            told = Acknowledged.Read(await File.ReadAllBytesAsync(notes, TestContext.Current.CancellationToken));
        }

        var (findings, _, _) = await PowerCuts.TryAsync(DiskLog.Read(shim.Log), cuts: 40);
        Assert.Empty(findings);
        var reader = new HistoryReader(Path.Combine(shim.Folder.FullName, "history.db"));
        Assert.Null(Acknowledged.Judge(told, Kept(reader)));
        var notices = reader.Query(new HistoryFilter { Kinds = [RecordKind.Notice] }).Records.Select(stored => (NoticeRecord)stored.Record);
        Assert.Contains(notices, notice => notice.Notice == NoticeKind.DiskBack);
        Assert.DoesNotContain(notices, notice => notice.Notice == NoticeKind.FileSetAside);
    }

    /// <summary>A real file system without room, where the test may mount one.</summary>
    [Fact]
    public async Task Append_SmallFileSystemFull_GoesOnOnceThereIsRoom()
    {
        Assert.SkipUnless(OperatingSystem.IsLinux() && Environment.UserName == "root", "a file system is mounted by root alone");
        using var fixture = new HistoryFixture();
        var mount = Path.Combine(fixture.Folder, "small");
        Directory.CreateDirectory(mount);
        Assert.SkipUnless(await Peer.TryAsync("mount", "-t", "tmpfs", "-o", "size=400k", "tmpfs", mount), "mounting is not permitted here");
        try
        {
            var ballast = Path.Combine(mount, "ballast");
            await File.WriteAllBytesAsync(ballast, new byte[200_000], TestContext.Current.CancellationToken);
            fixture.Path = Path.Combine(mount, "history.db");
            using var store = fixture.Open();
            var waiting = new List<Task<long>>();
            for (var number = 0; store.Health.Good; number++)
            {
                var kept = store.AppendAsync(HistoryFixture.Fault(number));
                waiting.Add(kept);
                await HistoryFixture.Until(() => kept.IsCompleted || !store.Health.Good);
                Assert.True(number < 5_000, "the disk does not fill");
            }

            Assert.Contains("the disk is full", store.Health.Message, StringComparison.Ordinal);
            File.Delete(ballast);
            var sequences = await Task.WhenAll(waiting);
            Assert.Equal(sequences.Where(sequence => sequence != 0).Order(), sequences.Where(sequence => sequence != 0));
            await HistoryFixture.Until(() => fixture.All().Any(stored => stored.Record is NoticeRecord { Notice: NoticeKind.DiskBack }));
            Assert.Equal(sequences.Count(sequence => sequence != 0), fixture.Scalar("SELECT count(*) FROM records WHERE kind = 3"));
            Assert.True(store.Stop(HistoryFixture.Bound));
        }
        finally
        {
            await Peer.TryAsync("umount", mount);
        }
    }

    private static int Count(string notes) => File.Exists(notes) ? File.ReadAllBytes(notes).Count(letter => letter == (byte)'\n') : 0;

    private static List<Acknowledged> Kept(HistoryReader reader)
    {
        var kept = new List<Acknowledged>();
        long? before = null;
        do
        {
            var page = reader.Query(new HistoryFilter { Kinds = [RecordKind.Fault], BeforeSequence = before, Limit = HistoryFilter.MaximumLimit });
            kept.AddRange(page.Records.Select(stored => new Acknowledged(((FaultRecord)stored.Record).CommandId, stored.Sequence)));
            before = page.NextBefore;
        }
        while (before is not null);

        return kept;
    }
}

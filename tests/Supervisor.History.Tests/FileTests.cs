using Microsoft.Data.Sqlite;
using Supervisor.History.Entries;
using Supervisor.History.Reading;
using static Supervisor.History.Tests.HistoryFixture;

namespace Supervisor.History.Tests;

/// <summary>Files that are of a newer version, of another program, or damaged.</summary>
public sealed class FileTests : IDisposable
{
    private readonly HistoryFixture _fixture = new();

    public void Dispose() => _fixture.Dispose();

    [Fact]
    public void Open_NewerShape_IsRefusedUntouched()
    {
        Fill(3);
        _fixture.Execute("PRAGMA journal_mode = DELETE; PRAGMA user_version = 99;");
        AssertRefusedUntouched("newer version");
    }

    [Fact]
    public void Open_NewerShapeStillInTheLog_IsRefusedUntouched()
    {
        Fill(3);

        // As after a kill: the log is copied away before the last connection folds it in, and put back.
        string wal = _fixture.Path + "-wal", copy = _fixture.Path + "-copy";
        var main = File.ReadAllBytes(_fixture.Path);
        using (var connection = _fixture.Connect())
        {
            using var command = connection.CreateCommand();
            command.CommandText = "PRAGMA user_version = 99";
            command.ExecuteNonQuery();
            File.Copy(wal, copy);
        }

        File.WriteAllBytes(_fixture.Path, main);
        File.Move(copy, wal);
        var log = File.ReadAllBytes(wal);
        Assert.NotEqual(99, main[63]);

        AssertRefusedUntouched("newer version");
        Assert.Equal(log, File.ReadAllBytes(wal));
    }

    [Theory]
    [InlineData("CREATE TABLE theirs (x)")]
    [InlineData("CREATE TABLE theirs (x); PRAGMA user_version = 1")]
    [InlineData("CREATE TABLE theirs (x); PRAGMA application_id = 7")]
    public void Open_AnotherProgramsDatabase_IsRefusedUntouched(string sql)
    {
        _fixture.Execute(sql);
        AssertRefusedUntouched("another program");
    }

    [Fact]
    public async Task Open_EmptyFile_IsUsed()
    {
        await File.WriteAllBytesAsync(_fixture.Path, [], TestContext.Current.CancellationToken);
        using var store = _fixture.Open();

        Assert.Equal(1, await store.AppendAsync(Fault(1)));
    }

    [Theory]
    [InlineData(0, 64)]
    [InlineData(50, 50)]
    [InlineData(100, 12)]
    [InlineData(4_096, 4_096)]
    [InlineData(32_768, 4_096)]
    public async Task Open_DamagedFile_IsSetAsideAndBegunAnewWithANotice(int damageAt, int length)
    {
        Fill(500);
        var bytes = await File.ReadAllBytesAsync(_fixture.Path, TestContext.Current.CancellationToken);
        bytes.AsSpan(damageAt, length).Fill(0xA5);
        await File.WriteAllBytesAsync(_fixture.Path, bytes, TestContext.Current.CancellationToken);

        using var store = _fixture.Open();
        await store.AppendAsync(Fault(1));

        var aside = Assert.Single(Directory.GetFiles(_fixture.Folder, "history.db.corrupt-*"));
        Assert.Equal(bytes, await File.ReadAllBytesAsync(aside, TestContext.Current.CancellationToken));
        var records = _fixture.All().Reverse().Select(stored => stored.Record).ToArray();
        Assert.Equal(2, records.Length);
        var notice = Assert.IsType<NoticeRecord>(records[0]);
        Assert.Equal(NoticeKind.FileSetAside, notice.Notice);
        Assert.Contains(aside, notice.Message, StringComparison.Ordinal);
        Assert.True(store.Health.Good);
    }

    [Fact]
    public async Task Open_TextFile_IsSetAside()
    {
        await File.WriteAllTextAsync(_fixture.Path, "not a database, but somebody's notes of more than a hundred characters, which is the length of a header.", TestContext.Current.CancellationToken);
        using var store = _fixture.Open();

        Assert.NotEqual(0, await store.AppendAsync(Fault(1)));
        Assert.Single(Directory.GetFiles(_fixture.Folder, "history.db.corrupt-*"));
    }

    [Fact]
    public async Task Open_DamagedAgainAndAgain_KeepsThreeDamagedFiles()
    {
        for (var round = 0; round < 5; round++)
        {
            await File.WriteAllTextAsync(_fixture.Path, $"damage {round} {new string('x', 200)}", TestContext.Current.CancellationToken);
            using var store = _fixture.Open();
            await store.FlushAsync();
        }

        Assert.Equal(3, Directory.GetFiles(_fixture.Folder, "history.db.corrupt-*").Length);
    }

    [Fact]
    public async Task Append_FileDamagedWhileRunning_IsSetAsideAndNothingLost()
    {
        using var store = _fixture.Open();
        for (var number = 0; number < 300; number++)
        {
            store.Append(Fault(number));
        }

        await store.FlushAsync();
        _fixture.Execute("PRAGMA wal_checkpoint(TRUNCATE)");
        await using (var file = new FileStream(_fixture.Path, FileMode.Open, FileAccess.Write, FileShare.ReadWrite))
        {
            // Every page: whichever the next record touches is bad.
            file.Write(Enumerable.Repeat((byte)0xA5, (int)file.Length).ToArray());
        }

        var kept = new List<long>();
        for (var number = 1_000; number < 1_500; number++)
        {
            kept.Add(await store.AppendAsync(Fault(number)));
        }

        Assert.DoesNotContain(0L, kept);
        Assert.Single(Directory.GetFiles(_fixture.Folder, "history.db.corrupt-*"), file => !file.EndsWith("-wal", StringComparison.Ordinal));
        Assert.Equal(1_499UL, ((FaultRecord)_fixture.All()[0].Record).CommandId);
        Assert.Contains(_fixture.All(), stored => stored.Record is NoticeRecord { Notice: NoticeKind.FileSetAside });
        Assert.True(kept[0] > 300);
    }

    [Fact]
    public async Task NoteClock_DamageInWhatNobodyReads_IsFoundWithinADayAndSetAside()
    {
        const int Page = 4_096;
        using var store = _fixture.Open();
        for (var number = 0; number < 500; number++)
        {
            store.Append(Fault(number) with { Note = number == 100 ? "a hundredth note" : "" });
        }

        await store.FlushAsync();
        _fixture.Execute("PRAGMA wal_checkpoint(TRUNCATE)");
        await using (var file = new FileStream(_fixture.Path, FileMode.Open, FileAccess.ReadWrite, FileShare.ReadWrite))
        {
            // A page of old records, far from where the next one goes.
            var bytes = new byte[file.Length];
            file.ReadExactly(bytes);
            file.Position = bytes.AsSpan().IndexOf("a hundredth note"u8) / Page * Page;
            file.Write(Enumerable.Repeat((byte)0xA5, Page).ToArray());
        }

        Assert.Equal(501, await store.AppendAsync(Fault(501)));
        Assert.Empty(Directory.GetFiles(_fixture.Folder, "history.db.corrupt-*"));
        _fixture.Now = _fixture.Now with { Monotonic = _fixture.Now.Monotonic + TimeSpan.FromDays(1), Utc = _fixture.Now.Utc.AddDays(1) };
        store.NoteClock();
        await Until(() => Directory.GetFiles(_fixture.Folder, "history.db.corrupt-*").Length > 0 && _fixture.All().Count > 0);

        Assert.True(await store.AppendAsync(Fault(502)) > 501);
        Assert.Equal(NoticeKind.FileSetAside, Assert.IsType<NoticeRecord>(_fixture.All()[^1].Record).Notice);
        Assert.True(store.Health.Good);
        Assert.Equal(0, store.Health.Lost);
    }

    [Fact]
    public async Task NoteClock_SoundFile_IsLookedThroughAndKept()
    {
        using var store = _fixture.Open();
        for (var day = 0; day < 3; day++)
        {
            await store.AppendAsync(Fault(day));
            var pauses = _fixture.Pauses;
            for (var number = 0; number < 2_000; number++)
            {
                store.Append(Fault(number));
            }

            await store.FlushAsync();
            _fixture.Now = _fixture.Now with { Monotonic = _fixture.Now.Monotonic + TimeSpan.FromDays(1), Utc = _fixture.Now.Utc.AddDays(1) };
            store.NoteClock();

            // The look rests now and then.
            await Until(() => _fixture.Pauses > pauses);
        }

        Assert.Equal(6_003, _fixture.Scalar("SELECT sum(coalesce(count, 1)) FROM records WHERE kind = 3"));
        Assert.Empty(Directory.GetFiles(_fixture.Folder, "history.db.corrupt-*"));
    }

    [Fact]
    public async Task Open_ByDebiansSqlite_CountsTheSame()
    {
        using var store = _fixture.Open();
        for (var number = 0; number < 123; number++)
        {
            store.Append(Fault(number));
        }

        await store.FlushAsync();

        // While the store is open, as a technician would look at it.
        Assert.Equal("123", (await Peer.RunAsync("sqlite3", "-readonly", _fixture.Path, "SELECT count(*) FROM records WHERE kind = 3 AND axis = 'dibber'")).Trim());
        Assert.Equal("ok", (await Peer.RunAsync("sqlite3", "-readonly", _fixture.Path, "PRAGMA integrity_check")).Trim());
        Assert.Equal("15.25", (await Peer.RunAsync("sqlite3", "-readonly", _fixture.Path, "SELECT max(position) FROM records")).Trim());
    }

    private void Fill(int records)
    {
        using var store = _fixture.Open();
        for (var number = 0; number < records; number++)
        {
            Assert.True(store.Append(Fault(number)));
        }

        Assert.True(store.Stop(Bound));
        Assert.False(File.Exists(_fixture.Path + "-wal"));
    }

    private void AssertRefusedUntouched(string because)
    {
        var bytes = File.ReadAllBytes(_fixture.Path);

        var error = Assert.Throws<HistoryException>(() => _fixture.Open());
        Assert.Contains(because, error.Message, StringComparison.Ordinal);
        Assert.Contains(_fixture.Path, error.Message, StringComparison.Ordinal);
        Assert.Equal(bytes, File.ReadAllBytes(_fixture.Path));
    }
}

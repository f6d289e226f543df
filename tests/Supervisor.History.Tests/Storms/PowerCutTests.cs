using System.Globalization;
using Microsoft.Data.Sqlite;

namespace Supervisor.History.Tests.Storms;

/// <summary>
/// A loss of power: every write and sync of a storm is logged, and what a disk may hold after a cut at random instants is made of them. What was written
/// and not synced may be lost, be torn at sectors of 512 bytes, or be kept out of order; the file must open, and no acknowledged fault may be missing.
/// That syncs reach the medium is the disk's own promise: a card that lies about it is not in this model.
/// </summary>
public sealed class PowerCutTests
{
    private const int Faults = 600;

    [Fact]
    public async Task Storm_PowerCutAtRandomInstants_LosesNothingAcknowledged()
    {
        using var shim = await DiskShim.MakeAsync();
        using (var storm = StormProcess.Start(shim.Folder.FullName, 1, Faults, shim.Environment()))
        {
            await storm.EndAsync();
        }

        var (findings, cuts, told) = await CutAsync(DiskLog.Read(shim.Log), Cuts);

        Assert.Empty(findings);
        Assert.True(told > cuts, $"{told} faults were acknowledged before {cuts} cuts: nothing was tried");
    }

    [Fact]
    public async Task Storm_BytesWritten_AreThoseThatTheSystemGot()
    {
        using var shim = await DiskShim.MakeAsync();
        using (var storm = StormProcess.Start(shim.Folder.FullName, 1, Faults, shim.Environment()))
        {
            await storm.EndAsync();
        }

        var names = new Dictionary<int, string>();
        long got = 0;
        foreach (var operation in DiskLog.Read(shim.Log))
        {
            if (operation.Kind is 'O' or 'A')
            {
                names[operation.File] = operation.Names[0];
            }

            if (operation.Kind == 'O' && operation.Names[0] == "written")
            {
                break;
            }

            got += operation.Kind == 'W' && names[operation.File] is "history.db" or "history.db-wal" ? operation.Data.Length : 0;
        }

        // The making of the empty file is not in it.
        var told = long.Parse(await File.ReadAllTextAsync(Path.Combine(shim.Folder.FullName, "written"), TestContext.Current.CancellationToken), CultureInfo.InvariantCulture);
        TestContext.Current.TestOutputHelper?.WriteLine($"told {told}, got {got}");
        Assert.InRange(told, got - 10_000, got);
    }

    [Fact]
    public async Task Upgrade_PowerCutAtRandomInstants_LeavesTheOldShapeOrTheNew()
    {
        using var shim = await DiskShim.MakeAsync();
        var old = await File.ReadAllBytesAsync(Path.Combine(AppContext.BaseDirectory, "Data", "history-shape1.db"), TestContext.Current.CancellationToken);
        await File.WriteAllBytesAsync(Path.Combine(shim.Folder.FullName, "history.db"), old, TestContext.Current.CancellationToken);
        using (var storm = StormProcess.Start(shim.Folder.FullName, 1, 5, shim.Environment()))
        {
            await storm.EndAsync();
        }

        // The file was there before.
        List<DiskOperation> log =
        [
            new DiskOperation('O', int.MaxValue, 0, "history.db"u8.ToArray()), new DiskOperation('W', int.MaxValue, 0, old), new DiskOperation('S', int.MaxValue, 0, default),
            new DiskOperation('D', -1, 0, default), .. DiskLog.Read(shim.Log),
        ];
        var (findings, _, _) = await CutAsync(log, Cuts / 2, first: 4, before: 12);

        Assert.Empty(findings);
    }

    /// <summary>The bugs that this is here for: no syncs at all, and a log whose commits are not synced.</summary>
    [Theory]
    [InlineData("")]
    [InlineData("-wal")]
    public async Task Storm_SyncsLeftOut_IsFound(string unsynced)
    {
        using var shim = await DiskShim.MakeAsync();
        using (var storm = StormProcess.Start(shim.Folder.FullName, 1, Faults, shim.Environment(unsynced.Length == 0 ? null : unsynced)))
        {
            await storm.EndAsync();
        }

        var log = DiskLog.Read(shim.Log);
        var (findings, _, _) = await CutAsync(unsynced.Length == 0 ? [.. log.Where(operation => operation.Kind is not ('S' or 'D'))] : log, 20);

        Assert.Contains(findings, finding => finding.Contains("is not kept", StringComparison.Ordinal));
    }

    private static int Cuts => Environment.GetEnvironmentVariable("SUPERVISOR_LONG") == "1" ? 2_000 : 150;

    /// <summary>Plays a log, cuts it, and judges what is left.</summary>
    /// <param name="log">What was done.</param>
    /// <param name="cuts">How many cuts.</param>
    /// <param name="first">Operations that are always done.</param>
    /// <param name="before">Records that were there before.</param>
    private static async Task<(List<string> Findings, int Cuts, int Told)> CutAsync(List<DiskOperation> log, int cuts, int first = 0, int before = 0)
    {
        var seed = int.TryParse(Environment.GetEnvironmentVariable("SUPERVISOR_STORM_SEED"), CultureInfo.InvariantCulture, out var given) ? given : 1;
        TestContext.Current.TestOutputHelper?.WriteLine($"seed {seed}, {log.Count} operations");
        var random = new Random(seed);
        var instants = Enumerable.Range(0, cuts).Select(_ => random.Next(first, log.Count + 1)).Order().ToArray();
        var disk = new CutDisk();
        var notes = new MemoryStream();
        var notesFile = -1;
        var findings = new List<string>();
        var (done, toldInAll) = (0, 0);
        foreach (var instant in instants)
        {
            for (; done < instant; done++)
            {
                var operation = log[done];
                notesFile = operation.Kind == 'O' && operation.Names[0] == "acknowledged" ? operation.File : notesFile;
                if (operation.Kind == 'W' && operation.File == notesFile)
                {
                    notes.Write(operation.Data.Span);
                }

                disk.Play(operation);
            }

            var told = Acknowledged.Read(notes.ToArray());
            toldInAll += told.Count;
            var style = (CutStyle)random.Next(4);
            if (await JudgeAsync(disk, style, random, told, before) is { } finding)
            {
                findings.Add($"cut before operation {instant}, {style}: {finding}");
            }
        }

        return (findings, cuts, toldInAll);
    }

    private static async Task<string?> JudgeAsync(CutDisk disk, CutStyle style, Random random, IReadOnlyList<Acknowledged> told, int before)
    {
        using var fixture = new HistoryFixture();
        disk.Cut(fixture.Folder, style, random);
        using (var store = fixture.Open())
        {
            // The next start after the cut: whatever shape the file is in, it is taken up or, with nothing in it that counts, made.
            await store.AppendAsync(HistoryFixture.Fault(1, "after the cut"));
        }

        if (Directory.GetFiles(fixture.Folder, "*.corrupt-*").Length > 0)
        {
            return $"the file was damaged, and with it {told.Count} acknowledged faults: one of them is not kept";
        }

        using var connection = fixture.Connect();
        var kept = Rows(connection, "SELECT command_id, sequence FROM records WHERE kind = 3 AND axis LIKE 'axis %'");
        var check = Rows(connection, "SELECT (SELECT count(*) FROM pragma_integrity_check WHERE integrity_check = 'ok'), (SELECT count(*) FROM records WHERE boot IN (SELECT boot FROM boots WHERE boot_id <> 'storm'))");
        if (check[0].CommandId != 1)
        {
            return "the file does not pass its check";
        }

        return check[0].Sequence < before + 1 ? $"{check[0].Sequence} of {before + 1} records that are older or newer than the storm are there" : Acknowledged.Judge(told, kept);
    }

    private static List<Acknowledged> Rows(SqliteConnection connection, string sql)
    {
        using var command = connection.CreateCommand();
        command.CommandText = sql;
        using var rows = command.ExecuteReader();
        var found = new List<Acknowledged>();
        while (rows.Read())
        {
            found.Add(new Acknowledged((ulong)rows.GetInt64(0), rows.GetInt64(1)));
        }

        return found;
    }
}

using System.Globalization;
using Microsoft.Data.Sqlite;

namespace Supervisor.History.Tests.Storms;

/// <summary>Plays what a storm did to its files, cuts its power at random instants, and judges what a disk may hold then.</summary>
internal static class PowerCuts
{
    /// <summary>Plays a log, cuts it, and judges what is left.</summary>
    /// <param name="log">What was done.</param>
    /// <param name="cuts">How many cuts.</param>
    /// <param name="first">Operations that are always done.</param>
    /// <param name="before">Records that were there before.</param>
    public static async Task<(List<string> Findings, int Cuts, int Told)> TryAsync(List<DiskOperation> log, int cuts, int first = 0, int before = 0)
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

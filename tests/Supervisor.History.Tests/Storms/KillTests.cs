using System.Globalization;
using Microsoft.Data.Sqlite;

namespace Supervisor.History.Tests.Storms;

/// <summary>
/// A process that writes a storm of faults into a real file is killed (SIGKILL) at random instants, its start and the recovery from the kill before
/// among them: what it had acknowledged is there, in order, once, and the file opens. A kill keeps what the system has in memory: power cuts are
/// another test.
/// </summary>
public sealed class KillTests : IDisposable
{
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("storm-");

    private string File => Path.Combine(_folder.FullName, "history.db");

    public void Dispose() => _folder.Delete(recursive: true);

    [Fact]
    public async Task Storm_KilledAtRandomInstants_KeepsEverythingAcknowledged()
    {
        var isLong = Environment.GetEnvironmentVariable("SUPERVISOR_LONG") == "1";
        var rounds = isLong ? 2_000 : 100;
        var seed = int.TryParse(Environment.GetEnvironmentVariable("SUPERVISOR_STORM_SEED"), CultureInfo.InvariantCulture, out var given) ? given : 1;
        TestContext.Current.TestOutputHelper?.WriteLine($"seed {seed}");
        var random = new Random(seed);
        var acknowledged = 0L;
        for (var round = 0; round < rounds; round++)
        {
            acknowledged += await KillOnceAsync(random, round);
        }

        TestContext.Current.TestOutputHelper?.WriteLine($"{rounds} kills, {acknowledged} faults acknowledged");
        Assert.True(acknowledged > rounds, "hardly anything was acknowledged: nothing was tried");
        Assert.Equal("ok", Ask("PRAGMA integrity_check", row => row.GetString(0)).Single());
        Assert.Empty(_folder.GetFiles("*.corrupt-*"));
    }

    private async Task<int> KillOnceAsync(Random random, int round)
    {
        var notes = Path.Combine(_folder.FullName, "acknowledged");
        System.IO.File.Delete(notes);
        using (var storm = StormProcess.Start(_folder.FullName, round))
        {
            // Three of four in the storm itself, the others wherever the process happens to be.
            if (round % 4 != 0)
            {
                await HistoryFixture.Until(() => storm.HasEnded || (System.IO.File.Exists(notes) && new FileInfo(notes).Length > 0));
            }

            await Task.Delay(TimeSpan.FromMilliseconds(random.NextDouble() * (round % 4 == 0 ? 400 : 120)), TestContext.Current.CancellationToken);
            Assert.False(storm.HasEnded);
            storm.Kill();
        }

        var told = System.IO.File.Exists(notes) ? Acknowledged.Read(await System.IO.File.ReadAllBytesAsync(notes, TestContext.Current.CancellationToken)) : [];
        if (System.IO.File.Exists(File))
        {
            var kept = Ask(
                $"SELECT command_id, sequence FROM records WHERE kind = 3 AND command_id / 1000000000 = {round} ORDER BY sequence",
                row => new Acknowledged((ulong)row.GetInt64(0), row.GetInt64(1)));
            Assert.True(Acknowledged.Judge(told, kept) is null, $"kill {round}: {Acknowledged.Judge(told, kept)}");
        }

        return told.Count;
    }

    /// <summary>Asks the file as it was left; nothing is folded in or repaired for the next process.</summary>
    private List<T> Ask<T>(string sql, Func<SqliteDataReader, T> read)
    {
        using var connection = new SqliteConnection($"Data Source={File};Mode=ReadOnly;Pooling=False");
        connection.Open();
        using var command = connection.CreateCommand();
        command.CommandText = sql;
        using var rows = command.ExecuteReader();
        var found = new List<T>();
        while (rows.Read())
        {
            found.Add(read(rows));
        }

        return found;
    }
}

using Microsoft.Data.Sqlite;
using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Reading;
using static Supervisor.History.Tests.HistoryFixture;

namespace Supervisor.History.Tests;

/// <summary>A file that the version with shape 1 wrote (<c>Data/history-shape1.db</c>, made by that version itself) is brought to the newest shape, and that version still reads it.</summary>
public sealed class ShapeTests : IDisposable
{
    // The question of the version with shape 1, word for word.
    private const string QuestionOfShape1 = """
        SELECT sequence, boot_id, monotonic_ns, utc_us, utc_quality, kind, axis, port, subject,
            code, class, drive_code, state, command_id, position, detail, derived_us
        FROM (SELECT records.*, boots.boot_id, CASE WHEN utc_quality < 2 THEN
                (SELECT a.utc_us + (records.monotonic_ns - a.monotonic_ns) / 1000 FROM clock_anchors a
                 WHERE a.boot = records.boot AND a.utc_quality = 2 ORDER BY a.monotonic_ns LIMIT 1) END AS derived_us
            FROM records LEFT JOIN boots ON boots.boot = records.boot)
        WHERE TRUE ORDER BY sequence DESC LIMIT 1001
        """;

    private readonly HistoryFixture _fixture = new();

    public ShapeTests() => File.Copy(System.IO.Path.Combine(AppContext.BaseDirectory, "Data", "history-shape1.db"), _fixture.Path);

    public void Dispose() => _fixture.Dispose();

    [Fact]
    public void Query_FileOfShape1_IsReadWithoutAWriter()
    {
        var bytes = File.ReadAllBytes(_fixture.Path);

        var all = _fixture.All();

        AssertHoldsWhatItHeld(all);
        Assert.Empty(_fixture.Reader.Query(new HistoryFilter { Incident = 1 }).Records);
        Assert.Empty(_fixture.Reader.Incidents(new HistoryFilter()).Incidents);
        Assert.Equal(bytes, File.ReadAllBytes(_fixture.Path));
    }

    [Fact]
    public async Task Open_FileOfShape1_GrowsInPlaceAndGoesOn()
    {
        using var store = _fixture.Open(options => options with { BootId = "boot-2" });

        Assert.Equal(13, await store.AppendAsync(Fault(5_000)));

        var all = _fixture.All();
        Assert.Equal(13, all[0].Sequence);
        Assert.Equal((13L, 1L, all[0].Record.At), (all[0].Incident, all[0].Count, all[0].Last));
        AssertHoldsWhatItHeld([.. all.Skip(1)]);
        Assert.All(all.Skip(1), stored => Assert.Null(stored.Incident));
        Assert.Empty(Directory.GetFiles(_fixture.Folder, "*.corrupt-*"));
        Assert.Equal(2, _fixture.Scalar("SELECT count(*) FROM boots"));
    }

    [Fact]
    public async Task Open_FileOfShape1_EndsLikeANewFile()
    {
        using (var store = _fixture.Open())
        {
            await store.FlushAsync();
        }

        using var other = new HistoryFixture();
        using (var store = other.Open())
        {
            await store.FlushAsync();
        }

        Assert.Equal(Tables(other), Tables(_fixture));
        Assert.Equal(other.Scalar("PRAGMA user_version"), _fixture.Scalar("PRAGMA user_version"));
        Assert.NotEqual(1, _fixture.Scalar("PRAGMA user_version"));
    }

    [Fact]
    public async Task Open_GrownFile_IsReadByTheVersionWithShape1()
    {
        var before = AskedByShape1();
        Assert.Equal(12, before.Count);

        using var store = _fixture.Open(options => options with { BootId = "boot-2" });
        await store.AppendAsync(Fault(5_000));

        // It refuses what asks for a newer reader, and takes the rest.
        Assert.Equal(1, _fixture.Scalar("SELECT CAST(value AS INTEGER) FROM meta WHERE key = 'oldestReader'"));
        var after = AskedByShape1();
        Assert.StartsWith("13|boot-2|5000000000|", after[0], StringComparison.Ordinal);
        Assert.Equal(before, after.Skip(1));
    }

    [Fact]
    public async Task Open_TablesThatAreNotThoseOfItsShape_AreSetAside()
    {
        _fixture.Execute("ALTER TABLE records ADD COLUMN count INTEGER");

        using var store = _fixture.Open();
        Assert.NotEqual(0, await store.AppendAsync(Fault(1)));

        Assert.True(store.Health.Good);
        Assert.Equal(1, _fixture.Scalar("SELECT count(*) FROM records WHERE kind = 3"));
        Assert.Single(Directory.GetFiles(_fixture.Folder, "history.db.corrupt-*"));
    }

    private static void AssertHoldsWhatItHeld(IReadOnlyList<StoredRecord> records)
    {
        Assert.Equal(Enumerable.Range(1, 12).Reverse().Select(n => (long)n), records.Select(stored => stored.Sequence));
        Assert.Equal(("boot-2", "boot-1"), (records[0].BootId, records[2].BootId));
        Assert.Equal("stopped by signal", Assert.IsType<EndRecord>(records[2].Record).Reason);
        Assert.Equal((ushort)0x7121, Assert.IsType<FaultRecord>(records[10].Record).DriveCode);
        Assert.Equal((UtcQuality.Derived, new DateTimeOffset(2031, 5, 6, 6, 59, 9, TimeSpan.Zero)), (records[10].Quality, records[10].Utc));
        Assert.All(records, stored => Assert.IsNotType<UnknownRecord>(stored.Record));
    }

    private static List<string> Tables(HistoryFixture fixture) => Rows(fixture, "SELECT name, sql FROM sqlite_schema ORDER BY name");

    private static List<string> Rows(HistoryFixture fixture, string sql)
    {
        using var connection = fixture.Connect();
        using var command = connection.CreateCommand();
        command.CommandText = sql;
        using var rows = command.ExecuteReader();
        var found = new List<string>();
        while (rows.Read())
        {
            found.Add(Row(rows));
        }

        return found;
    }

    private static string Row(SqliteDataReader row) =>
        string.Join('|', Enumerable.Range(0, row.FieldCount).Select(column => Convert.ToString(row.GetValue(column), System.Globalization.CultureInfo.InvariantCulture)));

    private List<string> AskedByShape1() => Rows(_fixture, QuestionOfShape1);
}

using Microsoft.Data.Sqlite;
using Supervisor.History.Clocks;
using Supervisor.History.Incidents;
using Supervisor.History.Writing;

namespace Supervisor.History.Storage;

/// <summary>The prepared statements that put records and clock anchors into the file.</summary>
internal sealed class RecordInserter : IDisposable
{
    private static readonly string[] Columns =
    [
        "sequence", "boot", "monotonic_ns", "utc_us", "utc_quality", "kind", "axis", "port", "subject",
        "code", "class", "drive_code", "state", "command_id", "position", "detail", "count", "last_monotonic_ns", "incident", "relation", "follows",
    ];

    private readonly SqliteCommand _record;
    private readonly SqliteCommand _anchor;
    private readonly long _boot;

    public RecordInserter(SqliteConnection connection, long boot)
    {
        _boot = boot;

        // A number that is there already is this very record: its commit had succeeded although an error was told. It is written once more, since a
        // commit that writes nothing syncs nothing.
        _record = Prepared(
            connection,
            $"INSERT INTO records ({string.Join(", ", Columns)}) VALUES ({string.Join(", ", Columns.Select(c => "$" + c))}) ON CONFLICT (sequence) DO UPDATE SET kind = excluded.kind",
            Columns);
        _anchor = Prepared(
            connection,
            "INSERT INTO clock_anchors (boot, monotonic_ns, utc_us, utc_quality) VALUES ($boot, $monotonic_ns, $utc_us, $utc_quality)",
            ["boot", "monotonic_ns", "utc_us", "utc_quality"]);
    }

    public void Insert(SqliteTransaction transaction, PendingRecord item)
    {
        var row = RecordCodec.ToRow(item.Record!);
        object?[] values =
        [
            item.Sequence, _boot, Units.Nanoseconds(row.At), Units.Microseconds(item.Utc), (long)item.Quality, (long)row.Kind,
            row.Axis, row.Port, row.Subject, row.Code, row.Class, row.DriveCode, row.State, (long?)row.CommandId, row.Position, row.Detail,
            item.Count > 1 ? item.Count : null, item.Count > 1 ? Units.Nanoseconds(item.Last) : null,
            item.Placement.Incident, item.Placement.Relation == Relation.None ? null : (long)item.Placement.Relation, item.Placement.Follows,
        ];
        Run(_record, transaction, values);
    }

    public void InsertAnchor(SqliteTransaction transaction, in ClockReading now) => Run(
        _anchor, transaction, [_boot, Units.Nanoseconds(now.Monotonic), Units.Microseconds(now.Utc), (long)now.Quality]);

    /// <inheritdoc/>
    public void Dispose()
    {
        _record.Dispose();
        _anchor.Dispose();
    }

    private static SqliteCommand Prepared(SqliteConnection connection, string sql, string[] columns)
    {
        var command = connection.CreateCommand();
        command.CommandText = sql;
        foreach (var column in columns)
        {
            command.Parameters.AddWithValue("$" + column, DBNull.Value);
        }

        return command;
    }

    private static void Run(SqliteCommand command, SqliteTransaction transaction, object?[] values)
    {
        for (var i = 0; i < values.Length; i++)
        {
            command.Parameters[i].Value = values[i] ?? DBNull.Value;
        }

        command.Transaction = transaction;
        command.ExecuteNonQuery();
    }
}

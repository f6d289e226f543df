using Microsoft.Data.Sqlite;
using Supervisor.History.Entries;
using Supervisor.History.Incidents;

namespace Supervisor.History.Storage;

/// <summary>The newest incident of this boot, for a writer that starts in its midst.</summary>
internal static class IncidentRecall
{
    // Only what decides about later faults; a storm's first ones are enough.
    private const int MostRows = 512;

    public static IReadOnlyList<(long Sequence, Placement Placement, HistoryRecord Record)> Read(SqliteConnection connection, long boot)
    {
        using var command = connection.CreateCommand();
        command.CommandText = """
            WITH newest AS (SELECT incident FROM records WHERE incident IS NOT NULL ORDER BY incident DESC LIMIT 1),
            wanted AS (
                SELECT records.* FROM records, newest
                WHERE records.incident = newest.incident AND records.boot = $boot AND records.kind IN ($fault, $recovery, $notice))
            SELECT * FROM (SELECT * FROM wanted ORDER BY sequence LIMIT $most)
            UNION SELECT * FROM (SELECT * FROM wanted ORDER BY sequence DESC LIMIT $most)
            ORDER BY sequence
            """;
        command.Parameters.AddWithValue("$boot", boot);
        command.Parameters.AddWithValue("$fault", (long)RecordKind.Fault);
        command.Parameters.AddWithValue("$recovery", (long)RecordKind.Recovery);
        command.Parameters.AddWithValue("$notice", (long)RecordKind.Notice);
        command.Parameters.AddWithValue("$most", MostRows);
        var records = new List<(long, Placement, HistoryRecord)>();
        using var rows = command.ExecuteReader();
        var columns = new RecordColumns(rows);
        while (rows.Read())
        {
            records.Add((columns.Sequence, columns.Placement, RecordCodec.FromRow(columns.Row())));
        }

        return records;
    }
}

using Microsoft.Data.Sqlite;
using Supervisor.History.Entries;
using Supervisor.History.Writing;

namespace Supervisor.History.Storage;

/// <summary>
/// Puts recordings into the file, and keeps them within their room: the oldest go. What a day brings may take a quarter of the room (stops that a person asked for half of
/// that), so that a storm of faults leaves the recordings of the days before.
/// </summary>
internal sealed class RecordingKeeper(SqliteConnection connection, long boot, long maximumBytes)
{
    private const long DayMicroseconds = 24L * 3600 * 1_000_000;
    private const int MaximumRows = 2_000;

    private readonly long _dayBytes = maximumBytes / 4;

    /// <summary>Stores the samples of a record that is being stored, in the same transaction.</summary>
    public void Insert(SqliteTransaction transaction, PendingRecord item)
    {
        if (item.Record is not RecordingRecord { Content: { } content } record || IsThere(transaction, item.Sequence))
        {
            return;
        }

        var utc = Units.Microseconds(item.Utc);
        var kept = HasRoom(transaction, utc, content.Bytes, record.IsMinor);
        Run(
            transaction,
            "INSERT INTO recordings (recording, boot, from_ns, to_ns, utc_us, bytes, kept, head) VALUES ($recording, $boot, $from, $to, $utc, $bytes, $kept, $head)",
            ("$recording", item.Sequence), ("$boot", boot), ("$from", Units.Nanoseconds(record.From)), ("$to", Units.Nanoseconds(record.To)), ("$utc", utc),
            ("$bytes", kept ? content.Bytes : 0), ("$kept", kept ? 1L : 0L), ("$head", content.Head));
        for (var number = 0; kept && number < content.Chunks.Count; number++)
        {
            Run(
                transaction,
                "INSERT INTO recording_chunks (recording, number, axis, data) VALUES ($recording, $number, $axis, $data)",
                ("$recording", item.Sequence), ("$number", (long)number), ("$axis", (long)content.Chunks[number].Axis), ("$data", content.Chunks[number].Data));
        }

        Prune(transaction);
    }

    private bool IsThere(SqliteTransaction transaction, long recording) =>
        Number(transaction, "SELECT count(*) FROM recordings WHERE recording = $recording", ("$recording", recording)) > 0;

    // A wall clock that was set back leaves later ones out of the sum, which only makes it kinder for a day.
    private bool HasRoom(SqliteTransaction transaction, long utc, long bytes, bool isMinor)
    {
        var today = Number(transaction, "SELECT sum(bytes) FROM recordings WHERE utc_us > $since AND utc_us <= $utc", ("$since", utc - DayMicroseconds), ("$utc", utc));
        var share = isMinor ? _dayBytes / 2 : _dayBytes;
        return today + bytes <= share || (today == 0 && bytes <= maximumBytes);
    }

    private void Prune(SqliteTransaction transaction)
    {
        Run(
            transaction,
            """
            DELETE FROM recordings WHERE recording <= (
                SELECT recording FROM (SELECT recording, sum(bytes) OVER (ORDER BY recording DESC) AS newer FROM recordings)
                WHERE newer > $most ORDER BY recording DESC LIMIT 1)
            """,
            ("$most", maximumBytes));
        Run(
            transaction,
            "DELETE FROM recordings WHERE recording <= (SELECT recording FROM recordings ORDER BY recording DESC LIMIT 1 OFFSET $rows)",
            ("$rows", (long)MaximumRows));
        Run(transaction, "DELETE FROM recording_chunks WHERE recording < coalesce((SELECT min(recording) FROM recordings), 0)");
    }

    private long Number(SqliteTransaction transaction, string sql, params ReadOnlySpan<(string Name, object Value)> parameters)
    {
        using var command = Command(transaction, sql, parameters);
        return command.ExecuteScalar() as long? ?? 0;
    }

    private void Run(SqliteTransaction transaction, string sql, params ReadOnlySpan<(string Name, object Value)> parameters)
    {
        using var command = Command(transaction, sql, parameters);
        command.ExecuteNonQuery();
    }

    private SqliteCommand Command(SqliteTransaction transaction, string sql, ReadOnlySpan<(string Name, object Value)> parameters)
    {
        var command = connection.CreateCommand();
        command.CommandText = sql;
        command.Transaction = transaction;
        foreach (var (name, value) in parameters)
        {
            command.Parameters.AddWithValue(name, value);
        }

        return command;
    }
}

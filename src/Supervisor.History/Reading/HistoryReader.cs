using Microsoft.Data.Sqlite;
using Supervisor.History.Clocks;
using Supervisor.History.Storage;

namespace Supervisor.History.Reading;

/// <summary>Reads a history file, whether or not a supervisor is writing to it. A connection is opened for each question and closed after it, so that no reader keeps the log from shrinking. Thread-safe.</summary>
/// <param name="path">Path of the file.</param>
public sealed class HistoryReader(string path)
{
    // A time noted before the clock was set is worked out from the first moment of the same boot at which it was.
    private static string Select(string laterColumns) => $"""
        SELECT sequence, boot_id, monotonic_ns, utc_us, utc_quality, kind, axis, port, subject,
            code, class, drive_code, state, command_id, position, detail, derived_us, {laterColumns}
        FROM (SELECT records.*, boots.boot_id, CASE WHEN utc_quality < 2 THEN
                (SELECT a.utc_us + (records.monotonic_ns - a.monotonic_ns) / 1000 FROM clock_anchors a
                 WHERE a.boot = records.boot AND a.utc_quality = 2 ORDER BY a.monotonic_ns LIMIT 1) END AS derived_us
            FROM records LEFT JOIN boots ON boots.boot = records.boot)
        """;

    /// <summary>A page, newest first. A file that does not exist yet reads as empty.</summary>
    /// <exception cref="HistoryException">The file can't be read: damaged, busy, of a newer version, or not ours.</exception>
    public HistoryPage Query(HistoryFilter filter)
    {
        ArgumentNullException.ThrowIfNull(filter);
        if (!File.Exists(path))
        {
            return new HistoryPage([], null);
        }

        try
        {
            using var connection = new SqliteConnection(HistoryFile.ConnectionString(path, SqliteOpenMode.ReadOnly));
            connection.Open();
            return IsReadable(connection) ? Read(connection, filter) : new HistoryPage([], null);
        }
        catch (SqliteException exception)
        {
            throw new HistoryException($"{path} can't be read now: {exception.Message}", exception);
        }
    }

    private bool IsReadable(SqliteConnection connection)
    {
        if (connection.Scalar("PRAGMA schema_version") == 0)
        {
            return false;
        }

        if (connection.Scalar("PRAGMA application_id") != Schema.ApplicationId)
        {
            throw new HistoryException($"{path} is a database of another program.");
        }

        if (connection.Scalar("SELECT CAST(value AS INTEGER) FROM meta WHERE key = 'oldestReader'") > Schema.Version)
        {
            throw new HistoryException($"{path} was written by a version of axis-supervisor that this one can't read; use the newer version.");
        }

        return true;
    }

    private static HistoryPage Read(SqliteConnection connection, HistoryFilter filter)
    {
        // A file that the writer has not brought to the newest shape yet, or that nobody will.
        var shape = connection.Scalar("PRAGMA user_version");
        var later = string.Join(", ", Schema.LaterRecordColumns.Select(column => shape < 2 ? $"NULL AS {column}" : column));
        var limit = Math.Clamp(filter.Limit, 1, HistoryFilter.MaximumLimit);
        using var command = connection.CreateCommand();
        command.CommandText = $"{Select(later)} WHERE {Where(filter, command)} ORDER BY sequence DESC LIMIT $limit";
        command.Parameters.AddWithValue("$limit", limit + 1);

        var records = new List<StoredRecord>();
        using var rows = command.ExecuteReader();
        while (rows.Read())
        {
            if (records.Count == limit)
            {
                return new HistoryPage(records, records[^1].Sequence);
            }

            records.Add(Stored(rows));
        }

        return new HistoryPage(records, null);
    }

    private static string Where(HistoryFilter filter, SqliteCommand command)
    {
        var terms = new List<string> { "TRUE" };
        Add(filter.Kinds.Count > 0 ? "" : null, $"kind IN ({string.Join(", ", filter.Kinds.Select(kind => (int)kind))})", null);
        Add(filter.Axis, "axis = $axis", "$axis");
        Add((int?)filter.Code, "code = $code", "$code");
        Add(filter.Since is { } since ? Units.Microseconds(since) : null, "coalesce(derived_us, utc_us) >= $since", "$since");
        Add(filter.BeforeSequence, "sequence < $before", "$before");
        Add(filter.AfterSequence, "sequence > $after", "$after");
        return string.Join(" AND ", terms);

        void Add(object? value, string term, string? parameter)
        {
            if (value is null)
            {
                return;
            }

            terms.Add(term);
            if (parameter is not null)
            {
                command.Parameters.AddWithValue(parameter, value);
            }
        }
    }

    private static StoredRecord Stored(SqliteDataReader row)
    {
        var derived = Number(row, 16);
        var record = RecordCodec.FromRow(new RecordRow
        {
            At = Units.Monotonic(row.GetInt64(2)),
            Kind = row.GetInt32(5),
            Axis = Text(row, 6),
            Port = Text(row, 7),
            Subject = Text(row, 8),
            Code = (int?)Number(row, 9),
            Class = (int?)Number(row, 10),
            DriveCode = (int?)Number(row, 11),
            State = (int?)Number(row, 12),
            CommandId = (ulong?)Number(row, 13),
            Position = row.IsDBNull(14) ? null : row.GetDouble(14),
            Detail = Text(row, 15),
        });
        return new StoredRecord(
            row.GetInt64(0), Text(row, 1) ?? "", Units.Utc(derived ?? row.GetInt64(3)),
            derived is null ? (UtcQuality)row.GetInt32(4) : UtcQuality.Derived, record)
        {
            Incident = Number(row, 17),
            Count = Number(row, 18) ?? 1,
            Last = Number(row, 19) is { } last ? Units.Monotonic(last) : record.At,
        };
    }

    private static string? Text(SqliteDataReader row, int column) => row.IsDBNull(column) ? null : row.GetString(column);

    private static long? Number(SqliteDataReader row, int column) => row.IsDBNull(column) ? null : row.GetInt64(column);
}

using System.Globalization;
using Microsoft.Data.Sqlite;
using Supervisor.History.Clocks;
using Supervisor.History.Storage;
using Supervisor.Records.Faults;

namespace Supervisor.History.Reading;

/// <summary>Questions about records, as SQL.</summary>
internal static class RecordQuery
{
    // A time noted before the clock was set is worked out from the first moment of the same boot at which it was.
    private const string From = """
        FROM (SELECT records.*, boots.boot_id, CASE WHEN utc_quality < 2 THEN
                (SELECT a.utc_us + (records.monotonic_ns - a.monotonic_ns) / 1000 FROM clock_anchors a
                 WHERE a.boot = records.boot AND a.utc_quality = 2 ORDER BY a.monotonic_ns LIMIT 1) END AS derived_us
            FROM records LEFT JOIN boots ON boots.boot = records.boot)
        """;

    private const string Columns =
        "sequence, boot_id, monotonic_ns, utc_us, utc_quality, kind, axis, port, subject, code, class, drive_code, state, command_id, position, detail, derived_us";

    /// <summary>A page of records.</summary>
    public static HistoryPage Page(SqliteConnection connection, HistoryFilter filter)
    {
        // A file that the writer has not brought to the newest shape yet, or that nobody will.
        var isOld = connection.Scalar("PRAGMA user_version") < 2;
        if (isOld && filter.Incident is not null)
        {
            return new HistoryPage([], null);
        }

        var later = string.Join(", ", Schema.LaterRecordColumns.Select(column => isOld ? $"NULL AS {column}" : column));
        var limit = Math.Clamp(filter.Limit, 1, HistoryFilter.MaximumLimit);
        using var command = connection.CreateCommand();
        command.CommandText =
            $"SELECT {Columns}, {later} {From} WHERE {Where(filter, command, "sequence")} ORDER BY sequence {(filter.OldestFirst ? "" : "DESC")} LIMIT $limit";
        command.Parameters.AddWithValue("$limit", limit + 1);
        var records = Read(command);
        if (records.Count <= limit)
        {
            return new HistoryPage(records, null);
        }

        records.RemoveAt(limit);
        return new HistoryPage(records, records[^1].Sequence);
    }

    /// <summary>Numbers of incidents with a record that passes, the newest first.</summary>
    public static IReadOnlyList<long> Incidents(SqliteConnection connection, HistoryFilter filter, int limit)
    {
        if (connection.Scalar("PRAGMA user_version") < 2)
        {
            return [];
        }

        using var command = connection.CreateCommand();
        command.CommandText =
            $"SELECT DISTINCT incident {From} WHERE incident IS NOT NULL AND {Where(filter, command, "incident")} ORDER BY incident DESC LIMIT $limit";
        command.Parameters.AddWithValue("$limit", limit);
        return Numbers(command);
    }

    /// <summary>Numbers of incidents behind a number, the lowest first.</summary>
    public static IReadOnlyList<long> IncidentsAfter(SqliteConnection connection, long after, int limit)
    {
        if (connection.Scalar("PRAGMA user_version") < 2)
        {
            return [];
        }

        using var command = connection.CreateCommand();
        command.CommandText = "SELECT DISTINCT incident FROM records WHERE incident > $after ORDER BY incident LIMIT $limit";
        command.Parameters.AddWithValue("$after", after);
        command.Parameters.AddWithValue("$limit", limit);
        return Numbers(command);
    }

    /// <summary>Records with a number above one and up to another.</summary>
    public static long Count(SqliteConnection connection, long after, long through) =>
        connection.Scalar(string.Create(CultureInfo.InvariantCulture, $"SELECT count(*) FROM records WHERE sequence > {after} AND sequence <= {through}"));

    private static List<long> Numbers(SqliteCommand command)
    {
        var numbers = new List<long>();
        using var rows = command.ExecuteReader();
        while (rows.Read())
        {
            numbers.Add(rows.GetInt64(0));
        }

        return numbers;
    }

    private static List<StoredRecord> Read(SqliteCommand command)
    {
        var records = new List<StoredRecord>();
        using var rows = command.ExecuteReader();
        var columns = new RecordColumns(rows);
        var (boot, utc, quality, derivedAt) = (rows.GetOrdinal("boot_id"), rows.GetOrdinal("utc_us"), rows.GetOrdinal("utc_quality"), rows.GetOrdinal("derived_us"));
        while (rows.Read())
        {
            var derived = columns.Number(derivedAt);
            var record = RecordCodec.FromRow(columns.Row());
            records.Add(new StoredRecord(
                columns.Sequence, columns.Text(boot) ?? "", Units.Utc(derived ?? rows.GetInt64(utc)),
                derived is null ? (UtcQuality)rows.GetInt32(quality) : UtcQuality.Derived, record)
            {
                Placement = columns.Placement,
                Count = columns.Count,
                Last = columns.Last ?? record.At,
            });
        }

        return records;
    }

    private static string Where(HistoryFilter filter, SqliteCommand command, string ordered)
    {
        var terms = new List<string> { "TRUE" };

        // The rarest of what is asked for finds the rows; a plus keeps SQLite from taking another index (sqlite.org/optoverview.html, 2.2).
        var plus = "";
        Indexed(filter.Incident, "incident = $incident", "$incident");
        Indexed((int?)filter.Code, "code = $code AND code > 0", "$code");
        Indexed(filter.Axis, "axis = $axis", "$axis");
        Indexed((int?)filter.Class, "class = $class", "$class");
        if (filter.Kinds.Count > 0)
        {
            terms.Add($"{(filter.Kinds.Count > 1 ? "+" : plus)}kind IN ({string.Join(", ", filter.Kinds.Select(kind => (int)kind))})");
        }

        Add(filter.Since is { } since ? Units.Microseconds(since) : null, "coalesce(derived_us, utc_us) >= $since", "$since");
        Add(filter.Until is { } until ? Units.Microseconds(until) : null, "coalesce(derived_us, utc_us) < $until", "$until");
        Add(filter.BeforeSequence, $"{ordered} < $before", "$before");
        Add(filter.AfterSequence, $"{ordered} > $after", "$after");
        if (filter.Text is { Length: > 0 } text)
        {
            Add($"%{text.Replace("\\", "\\\\", StringComparison.Ordinal).Replace("%", "\\%", StringComparison.Ordinal).Replace("_", "\\_", StringComparison.Ordinal)}%", TextTerm(text), "$text");
        }

        return string.Join(" AND ", terms);

        void Indexed(object? value, string term, string parameter)
        {
            Add(value, plus + term, parameter);
            plus = value is null ? plus : "+";
        }

        void Add(object? value, string term, string parameter)
        {
            if (value is not null)
            {
                terms.Add(term);
                command.Parameters.AddWithValue(parameter, value);
            }
        }
    }

    // The names of a fault are the program's, not the file's. In a detail only texts count: no names of members, and no numbers, which stand for something else.
    private static string TextTerm(string text)
    {
        var codes = FaultCatalogue.Entries.Where(entry => entry.Name.Contains(text, StringComparison.OrdinalIgnoreCase)).Select(entry => (int)entry.Code);
        return $"""
            (axis LIKE $text ESCAPE '\' OR port LIKE $text ESCAPE '\' OR subject LIKE $text ESCAPE '\' OR code IN ({string.Join(", ", codes)})
             OR (detail IS NOT NULL AND json_valid(detail) AND EXISTS (SELECT 1 FROM json_tree(detail) WHERE type = 'text' AND atom LIKE $text ESCAPE '\')))
            """;
    }
}

using Microsoft.Data.Sqlite;
using Supervisor.History.Clocks;
using Supervisor.History.Reading;
using Supervisor.History.Storage;

namespace Supervisor.History.Outbox;

/// <summary>Reads the outbox over connections of its own. Thread-safe.</summary>
/// <param name="reader">Reads the history's file.</param>
public sealed class OutboxReader(HistoryReader reader)
{
    private const int ShapeWithOutbox = 3;

    private const string Columns = """
        message, channel, kind, identity, incident, priority, cause, state, summary, made.boot_id AS made_in, made_ns, made_us, made_quality,
        done.boot_id AS done_in, done_ns, done_us, done_quality, subject, body, written_us, answer
        FROM outbox LEFT JOIN boots AS made ON made.boot = made_boot LEFT JOIN boots AS done ON done.boot = done_boot
        """;

    /// <summary>How a channel stands.</summary>
    /// <param name="channel">Its name.</param>
    /// <param name="done">Messages behind it that are read as well, the newest.</param>
    /// <returns>Null when the file does not know the channel yet.</returns>
    /// <exception cref="HistoryException">As <see cref="HistoryReader.Query"/>.</exception>
    public OutboxLook? Look(string channel, int done) => reader.Ask(connection =>
    {
        if (!HasOutbox(connection))
        {
            return null;
        }

        using var command = connection.CreateCommand();
        command.CommandText = "SELECT through FROM outbox_channels WHERE channel = $channel";
        command.Parameters.AddWithValue("$channel", channel);
        return command.ExecuteScalar() is not long through ? null : new OutboxLook(
            through,
            connection.Scalar("SELECT max(message) FROM outbox"),
            Read(connection, "WHERE channel = $channel AND state = 1 ORDER BY message", channel, null, -1),
            Read(connection, "WHERE channel = $channel AND state <> 1 ORDER BY message DESC LIMIT $limit", channel, null, done));
    });

    /// <summary>Messages that wait for a channel that is none of these.</summary>
    /// <exception cref="HistoryException">As <see cref="HistoryReader.Query"/>.</exception>
    public IReadOnlyList<OutboxMessage> Orphans(IReadOnlyList<string> channels) =>
        [.. Page(new OutboxFilter { IsWaiting = true, Limit = int.MaxValue }).Where(message => !channels.Contains(message.Channel))];

    /// <summary>A page, the newest first.</summary>
    /// <exception cref="HistoryException">As <see cref="HistoryReader.Query"/>.</exception>
    public IReadOnlyList<OutboxMessage> Page(OutboxFilter filter)
    {
        ArgumentNullException.ThrowIfNull(filter);
        return reader.Ask(connection => !HasOutbox(connection) ? null : Read(
            connection,
            $"""
            WHERE ($channel IS NULL OR channel = $channel) AND ($before IS NULL OR message < $before) {(filter.IsWaiting ? "AND state = 1" : "")}
            ORDER BY message DESC LIMIT $limit
            """,
            filter.Channel, filter.Before, filter.Limit)) ?? [];
    }

    private static bool HasOutbox(SqliteConnection connection) => connection.Scalar("PRAGMA user_version") >= ShapeWithOutbox;

    private static List<OutboxMessage> Read(SqliteConnection connection, string where, string? channel, long? before, int limit)
    {
        using var command = connection.CreateCommand();
        command.CommandText = $"SELECT {Columns} {where}";
        command.Parameters.AddWithValue("$channel", (object?)channel ?? DBNull.Value);
        command.Parameters.AddWithValue("$before", (object?)before ?? DBNull.Value);
        command.Parameters.AddWithValue("$limit", limit);
        var messages = new List<OutboxMessage>();
        using var rows = command.ExecuteReader();
        while (rows.Read())
        {
            messages.Add(new OutboxMessage(rows.GetInt64(0), rows.GetString(1), (OutboxKind)rows.GetInt64(2), rows.GetString(3))
            {
                Incident = rows.IsDBNull(4) ? null : rows.GetInt64(4),
                Priority = rows.GetInt32(5),
                Cause = rows.GetString(6),
                State = (OutboxState)rows.GetInt64(7),
                Summary = rows.IsDBNull(8) ? null : rows.GetInt64(8),
                Made = Stamp(rows, 9),
                Done = rows.IsDBNull(14) ? null : Stamp(rows, 13),
                Content = rows.IsDBNull(18) ? null : new OutboxContent(rows.GetString(17), rows.GetString(18), rows.IsDBNull(19) ? null : Units.Utc(rows.GetInt64(19))),
                Answer = rows.GetString(20),
            });
        }

        return messages;
    }

    private static OutboxStamp Stamp(SqliteDataReader rows, int first) => new(
        rows.IsDBNull(first) ? "" : rows.GetString(first),
        new ClockReading(Units.Monotonic(rows.GetInt64(first + 1)), Units.Utc(rows.GetInt64(first + 2)), (UtcQuality)rows.GetInt32(first + 3)));
}

/// <summary>Which messages to read.</summary>
public sealed record OutboxFilter
{
    /// <summary>Name of a channel; null: all.</summary>
    public string? Channel { get; init; }

    /// <summary>Only those that wait.</summary>
    public bool IsWaiting { get; init; }

    /// <summary>Only messages with a lower number.</summary>
    public long? Before { get; init; }

    /// <summary>Most messages.</summary>
    public int Limit { get; init; } = 100;
}

/// <summary>How a channel stands in the file.</summary>
/// <param name="Through">Incidents up to this number have been looked at.</param>
/// <param name="LastNumber">Highest number of a message of any channel.</param>
/// <param name="Waiting">Its messages that are to be sent, the oldest first.</param>
/// <param name="Done">Its newest messages that came to an end, the newest first.</param>
public sealed record OutboxLook(long Through, long LastNumber, IReadOnlyList<OutboxMessage> Waiting, IReadOnlyList<OutboxMessage> Done);

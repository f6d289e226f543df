using Microsoft.Data.Sqlite;
using Supervisor.History.Outbox;

namespace Supervisor.History.Storage;

/// <summary>Writes the outbox, within the commits of the one connection that writes.</summary>
/// <param name="connection">The one that writes.</param>
/// <param name="boot">Number of this boot: what is new, or comes to its end, does so in it.</param>
internal sealed class OutboxTable(SqliteConnection connection, long boot)
{
    /// <summary>Messages that came to an end and are kept; the oldest go.</summary>
    private const long MostDone = 1_000;

    /// <summary>
    /// Has a channel that is new begin behind what is stored by now, before anything of this run is: what comes after is told by it, whatever happens meanwhile.
    /// A channel that is gone is forgotten, so that it begins anew when it comes back.
    /// </summary>
    public static void Begin(SqliteConnection connection, IReadOnlyList<string> channels)
    {
        var names = channels.Select((_, index) => $"$channel{index}").ToArray();
        using var command = connection.CreateCommand();
        command.CommandText = $"DELETE FROM outbox_channels WHERE channel NOT IN ({string.Join(", ", names)});"
            + string.Concat(names.Select(name => $"INSERT OR IGNORE INTO outbox_channels VALUES ({name}, (SELECT coalesce(max(sequence), 0) FROM records));"));
        for (var index = 0; index < names.Length; index++)
        {
            command.Parameters.AddWithValue(names[index], channels[index]);
        }

        command.ExecuteNonQuery();
    }

    /// <summary>Stores a change.</summary>
    public void Apply(SqliteTransaction transaction, OutboxChange change)
    {
        if (change.Through is { } through)
        {
            Run(
                transaction, "INSERT INTO outbox_channels VALUES ($channel, $through) ON CONFLICT (channel) DO UPDATE SET through = max(through, excluded.through)",
                ("$channel", change.Channel), ("$through", through));
        }

        foreach (var message in change.Messages)
        {
            Put(transaction, message);
        }

        if (change.Messages.Any(message => message.Done is not null))
        {
            Run(
                transaction, "DELETE FROM outbox WHERE state <> 1 AND message <= (SELECT message FROM outbox WHERE state <> 1 ORDER BY message DESC LIMIT 1 OFFSET $keep)",
                ("$keep", MostDone));
        }
    }

    // A message of an earlier boot keeps the stamp it was made with.
    private void Put(SqliteTransaction transaction, OutboxMessage message) => Run(
        transaction,
        """
        INSERT INTO outbox VALUES (
            $message, $channel, $kind, $identity, $incident, $priority, $cause, $state, $summary, $boot, $made_ns, $made_us, $made_quality,
            $done_boot, $done_ns, $done_us, $done_quality, $subject, $body, $written_us, $answer)
        ON CONFLICT (message) DO UPDATE SET
            state = excluded.state, summary = excluded.summary, done_boot = excluded.done_boot, done_ns = excluded.done_ns, done_us = excluded.done_us,
            done_quality = excluded.done_quality, subject = excluded.subject, body = excluded.body, written_us = excluded.written_us, answer = excluded.answer
        """,
        ("$message", message.Number), ("$channel", message.Channel), ("$kind", (long)message.Kind), ("$identity", message.Identity), ("$incident", message.Incident),
        ("$priority", (long)message.Priority), ("$cause", message.Cause), ("$state", (long)message.State), ("$summary", message.Summary), ("$boot", boot),
        ("$made_ns", Units.Nanoseconds(message.Made.Clock.Monotonic)), ("$made_us", Units.Microseconds(message.Made.Clock.Utc)), ("$made_quality", (long)message.Made.Clock.Quality),
        ("$done_boot", message.Done is null ? null : boot), ("$done_ns", message.Done is { } at ? Units.Nanoseconds(at.Clock.Monotonic) : null),
        ("$done_us", message.Done is { } day ? Units.Microseconds(day.Clock.Utc) : null), ("$done_quality", message.Done is { } quality ? (long)quality.Clock.Quality : null),
        ("$subject", message.Content?.Subject), ("$body", message.Content?.Body),
        ("$written_us", message.Content?.Written is { } written ? Units.Microseconds(written) : null), ("$answer", message.Answer));

    private void Run(SqliteTransaction transaction, string sql, params ReadOnlySpan<(string Name, object? Value)> parameters)
    {
        using var command = connection.CreateCommand();
        command.CommandText = sql;
        command.Transaction = transaction;
        foreach (var (name, value) in parameters)
        {
            command.Parameters.AddWithValue(name, value ?? DBNull.Value);
        }

        command.ExecuteNonQuery();
    }
}

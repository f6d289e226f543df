using Microsoft.Data.Sqlite;
using Supervisor.History.Recordings.Coding;
using Supervisor.History.Storage;
using Supervisor.Records.Tracing;

namespace Supervisor.History.Recordings.Reading;

/// <summary>Reads recordings out of a history file, whether or not a supervisor is writing to it. Thread-safe.</summary>
/// <param name="path">Path of the file.</param>
public sealed class RecordingReader(string path)
{
    /// <summary>
    /// Recordings that hold samples of a time, newest first: those around a fault or stop are found by the boot and the time of its record.
    /// </summary>
    /// <param name="bootId">Boot of the board, as <see cref="History.Reading.StoredRecord.BootId"/> says it.</param>
    /// <param name="from">Monotonic time.</param>
    /// <param name="to">Monotonic time; may be the same.</param>
    /// <exception cref="HistoryException">The file can't be read.</exception>
    public IReadOnlyList<RecordingEntry> Covering(string bootId, TimeSpan from, TimeSpan to) => Ask<IReadOnlyList<RecordingEntry>>([], connection =>
    {
        using var command = connection.CreateCommand();
        command.CommandText = """
            SELECT recording, from_ns, to_ns, bytes, kept FROM recordings JOIN boots ON boots.boot = recordings.boot
            WHERE boot_id = $boot AND from_ns <= $to AND to_ns >= $from ORDER BY recording DESC
            """;
        command.Parameters.AddWithValue("$boot", bootId);
        command.Parameters.AddWithValue("$from", Units.Nanoseconds(from));
        command.Parameters.AddWithValue("$to", Units.Nanoseconds(to));
        return Entries(command);
    });

    /// <summary>The newest recordings, newest first.</summary>
    /// <param name="limit">How many at most, 1 and up.</param>
    /// <exception cref="HistoryException">The file can't be read.</exception>
    public IReadOnlyList<RecordingEntry> Newest(int limit) => Ask<IReadOnlyList<RecordingEntry>>([], connection =>
    {
        using var command = connection.CreateCommand();
        command.CommandText = "SELECT recording, from_ns, to_ns, bytes, kept FROM recordings ORDER BY recording DESC LIMIT $limit";
        command.Parameters.AddWithValue("$limit", limit);
        return Entries(command);
    });

    /// <summary>Reads a recording.</summary>
    /// <param name="recording">Sequence number of its record.</param>
    /// <param name="axes">Names of the axes whose samples are wanted; null: all.</param>
    /// <returns>Null when it is not kept (any more).</returns>
    /// <exception cref="HistoryException">The file can't be read, or the recording is damaged or of a newer format.</exception>
    public Recording? Read(long recording, IReadOnlyCollection<string>? axes = null) => Ask(null, connection =>
    {
        try
        {
            return ReadHead(connection, recording) is { } head ? new Recording(head, ReadSamples(connection, recording, head, axes)) : null;
        }
        catch (InvalidDataException exception)
        {
            throw new HistoryException($"recording {recording} can't be read: {exception.Message}.", exception);
        }
    });

    private static List<RecordingEntry> Entries(SqliteCommand command)
    {
        var entries = new List<RecordingEntry>();
        using var rows = command.ExecuteReader();
        while (rows.Read())
        {
            entries.Add(new RecordingEntry(rows.GetInt64(0), Units.Monotonic(rows.GetInt64(1)), Units.Monotonic(rows.GetInt64(2)), rows.GetInt64(3), rows.GetInt64(4) != 0));
        }

        return entries;
    }

    private static RecordingHead? ReadHead(SqliteConnection connection, long recording)
    {
        using var command = connection.CreateCommand();
        command.CommandText = "SELECT head FROM recordings WHERE recording = $recording AND kept = 1";
        command.Parameters.AddWithValue("$recording", recording);
        return command.ExecuteScalar() is byte[] head ? HeadCodec.Read(head) : null;
    }

    private static List<TraceSample>[] ReadSamples(SqliteConnection connection, long recording, RecordingHead head, IReadOnlyCollection<string>? axes)
    {
        var codec = new ChunkCodec();
        var samples = head.Axes.Select(_ => new List<TraceSample>()).ToArray();
        using var command = connection.CreateCommand();
        command.CommandText = "SELECT axis, data FROM recording_chunks WHERE recording = $recording ORDER BY number";
        command.Parameters.AddWithValue("$recording", recording);
        using var rows = command.ExecuteReader();
        while (rows.Read())
        {
            var axis = rows.GetInt64(0);
            if (axis < 0 || axis >= samples.Length)
            {
                throw new InvalidDataException($"it has samples of axis {axis}, which it does not name");
            }

            if (axes is null || axes.Contains(head.Axes[(int)axis].Name))
            {
                samples[axis].AddRange(codec.Read((byte[])rows[1]).Select(sample => sample with { Axis = (short)axis }));
            }
        }

        return samples;
    }

    private T Ask<T>(T nothing, Func<SqliteConnection, T> ask)
    {
        if (!File.Exists(path))
        {
            return nothing;
        }

        try
        {
            using var connection = new SqliteConnection(HistoryFile.ConnectionString(path, SqliteOpenMode.ReadOnly));
            connection.Open();

            // One view of the file: a recording may be pushed out while it is read.
            using var view = connection.BeginTransaction(deferred: true);
            return connection.Scalar("SELECT count(*) FROM sqlite_schema WHERE name = 'recordings'") == 0 ? nothing : ask(connection);
        }
        catch (SqliteException exception)
        {
            throw new HistoryException($"{path} can't be read now: {exception.Message}", exception);
        }
    }
}

/// <summary>A recording in the file.</summary>
/// <param name="Sequence">Sequence number of its record: what it is read by.</param>
/// <param name="From">Monotonic time of its begin.</param>
/// <param name="To">Monotonic time of its end.</param>
/// <param name="Bytes">Bytes of its samples.</param>
/// <param name="IsKept">False: its samples were not kept, as the day's share of the room was used up.</param>
public sealed record RecordingEntry(long Sequence, TimeSpan From, TimeSpan To, long Bytes, bool IsKept);

using Microsoft.Data.Sqlite;
using Supervisor.History.Clocks;
using Supervisor.History.Thrift;

namespace Supervisor.History.Storage;

/// <summary>Keeps what is left of the bytes a day, now and then.</summary>
/// <param name="connection">The one that writes.</param>
/// <param name="boot">Number of this boot.</param>
internal sealed class BudgetTable(SqliteConnection connection, long boot)
{
    private IReadOnlyList<(BudgetShare Share, long Bytes)> _pending = [];

    /// <summary>What was left, and how long ago that was: by the monotonic clock within one boot, else by the time of day where both were set.</summary>
    public IReadOnlyList<StoredLevel> Read(in ClockReading now)
    {
        using var command = connection.CreateCommand();
        command.CommandText = "SELECT share, bytes, boot, monotonic_ns, utc_us, utc_quality FROM write_budget";
        using var rows = command.ExecuteReader();
        var levels = new List<StoredLevel>();
        while (rows.Read())
        {
            if (rows.GetInt64(0) is >= 0 and var share && share < WriteBudget.Count)
            {
                levels.Add(new StoredLevel((BudgetShare)share, rows.GetInt64(1), Since(rows, now)));
            }
        }

        return levels;
    }

    /// <summary>Has it written with the next commit.</summary>
    public void Keep(IReadOnlyList<(BudgetShare Share, long Bytes)> levels) => _pending = levels;

    /// <summary>Writes what is to be kept, within a commit.</summary>
    public void Write(SqliteTransaction transaction, in ClockReading now)
    {
        foreach (var (share, bytes) in _pending)
        {
            using var command = connection.CreateCommand();
            command.Transaction = transaction;
            command.CommandText = "INSERT OR REPLACE INTO write_budget VALUES ($share, $bytes, $boot, $monotonic_ns, $utc_us, $utc_quality)";
            command.Parameters.AddWithValue("$share", (long)share);
            command.Parameters.AddWithValue("$bytes", bytes);
            command.Parameters.AddWithValue("$boot", boot);
            command.Parameters.AddWithValue("$monotonic_ns", Units.Nanoseconds(now.Monotonic));
            command.Parameters.AddWithValue("$utc_us", Units.Microseconds(now.Utc));
            command.Parameters.AddWithValue("$utc_quality", (long)now.Quality);
            command.ExecuteNonQuery();
        }
    }

    /// <summary>The commit has succeeded.</summary>
    public void Written() => _pending = [];

    private TimeSpan Since(SqliteDataReader row, in ClockReading now)
    {
        var isSet = now.Quality == UtcQuality.Synchronised && row.GetInt64(5) == (long)UtcQuality.Synchronised;
        var since = row.GetInt64(2) == boot ? now.Monotonic - Units.Monotonic(row.GetInt64(3)) : isSet ? now.Utc - Units.Utc(row.GetInt64(4)) : TimeSpan.Zero;
        return since > TimeSpan.Zero ? since : TimeSpan.Zero;
    }
}

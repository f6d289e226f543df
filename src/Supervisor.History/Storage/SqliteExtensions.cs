using Microsoft.Data.Sqlite;

namespace Supervisor.History.Storage;

internal static class SqliteExtensions
{
    /// <summary>SQLITE_ERROR: the statement does not fit the tables.</summary>
    public const int Error = 1;

    /// <summary>SQLITE_CORRUPT.</summary>
    public const int Corrupt = 11;

    private const int Busy = 5, NotADatabase = 26;

    /// <summary>Runs statements that return nothing of interest.</summary>
    public static void Execute(this SqliteConnection connection, string sql, SqliteTransaction? transaction = null)
    {
        using var command = connection.CreateCommand();
        command.CommandText = sql;
        command.Transaction = transaction;
        command.ExecuteNonQuery();
    }

    /// <summary>The first value as a whole number; 0 for NULL or no row.</summary>
    public static long Scalar(this SqliteConnection connection, string sql)
    {
        using var command = connection.CreateCommand();
        command.CommandText = sql;
        return command.ExecuteScalar() as long? ?? 0;
    }

    /// <summary>True when the file itself is damaged, so that repeating won't help.</summary>
    public static bool IsDamage(this SqliteException exception) => exception.SqliteErrorCode is Corrupt or NotADatabase;

    /// <summary>
    /// True when the disk or a lock stands in the way and a later attempt may succeed: permission, busy, locked, out of memory,
    /// read-only, I/O, full, can't open, locking protocol (result codes 3, 5 to 8, 10, 13 to 15 of sqlite.org/rescode.html).
    /// </summary>
    public static bool MayPass(this SqliteException exception) => exception.SqliteErrorCode is 3 or (>= Busy and <= 8) or 10 or (>= 13 and <= 15);
}

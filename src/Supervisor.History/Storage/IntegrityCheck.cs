using Microsoft.Data.Sqlite;
using SQLitePCL;

namespace Supervisor.History.Storage;

/// <summary>Reads a whole file for damage, over a connection of its own that changes nothing, a piece at a time, so that the disk stays free for others.</summary>
internal static class IntegrityCheck
{
    // Pages, and later steps of some ten a row, between two rests.
    private const int Piece = 2_000;

    /// <summary>Looks at every page.</summary>
    /// <param name="path">The file.</param>
    /// <param name="rest">Called after each piece; false ends the check.</param>
    /// <returns>What is damaged; empty: nothing is; null: the check was ended, or the file can't be read now.</returns>
    public static string? Run(string path, Func<bool> rest)
    {
        try
        {
            using var connection = new SqliteConnection(HistoryFile.ConnectionString(path, SqliteOpenMode.ReadOnly));
            connection.Open();
            raw.sqlite3_progress_handler(connection.Handle, Piece, _ => rest() ? 0 : 1, null);
            using var command = connection.CreateCommand();
            command.CommandText = "PRAGMA quick_check(1)";

            // It may take as long as it likes.
            command.CommandTimeout = 0;
            return command.ExecuteScalar() is string and not "ok" and var damage ? damage : "";
        }
        catch (SqliteException exception) when (exception.IsDamage())
        {
            return exception.Message;
        }
        catch (SqliteException)
        {
            return null;
        }
    }
}

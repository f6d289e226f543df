using Microsoft.Data.Sqlite;
using Supervisor.History.Statistics;
using Supervisor.History.Storage;

namespace Supervisor.History.Reading;

/// <summary>Reads a history file, whether or not a supervisor is writing to it. A connection is opened for each question and closed after it, so that no reader keeps the log from shrinking. Thread-safe.</summary>
/// <param name="path">Path of the file.</param>
public sealed class HistoryReader(string path)
{
    /// <summary>A page. A file that does not exist yet reads as empty.</summary>
    /// <exception cref="HistoryException">The file can't be read: damaged, busy, of a newer version, or not ours.</exception>
    public HistoryPage Query(HistoryFilter filter)
    {
        ArgumentNullException.ThrowIfNull(filter);
        return Ask(connection => RecordQuery.Page(connection, filter)) ?? new HistoryPage([], null);
    }

    /// <summary>A page of incidents, the newest first: those with a record that passes the filter, whose bound is a number of incidents here.</summary>
    /// <exception cref="HistoryException">As <see cref="Query"/>.</exception>
    public IncidentPage Incidents(HistoryFilter filter)
    {
        ArgumentNullException.ThrowIfNull(filter);
        return Ask(connection => IncidentQuery.Page(connection, filter)) ?? new IncidentPage([], null);
    }

    /// <summary>Numbers of the incidents behind a number, the lowest first.</summary>
    /// <param name="after">Number before the first looked for.</param>
    /// <param name="limit">Most numbers.</param>
    /// <exception cref="HistoryException">As <see cref="Query"/>.</exception>
    public IReadOnlyList<long> IncidentsAfter(long after, int limit) => Ask(connection => RecordQuery.IncidentsAfter(connection, after, limit)) ?? [];

    /// <summary>One incident whole; null when there is none with this number, or none of it is kept.</summary>
    /// <exception cref="HistoryException">As <see cref="Query"/>.</exception>
    public IncidentStory? Incident(long number) => Ask(connection => IncidentQuery.Story(connection, number));

    /// <summary>What the records of a period come to. Reads them page by page, in bounded memory.</summary>
    /// <exception cref="ArgumentException">The period ends before it begins.</exception>
    /// <exception cref="HistoryException">As <see cref="Query"/>.</exception>
    public MachineStatistics Statistics(StatisticsQuestion question)
    {
        ArgumentNullException.ThrowIfNull(question);
        return question.Until <= question.Since
            ? throw new ArgumentException("The period must end after its beginning.", nameof(question))
            : Ask(connection => StatisticsQuery.Answer(connection, question)) ?? new StatisticsSteps(question).Result();
    }

    /// <summary>How many numbers between two have no record: it was not kept, or is no longer.</summary>
    /// <param name="after">Number before the first looked for.</param>
    /// <param name="through">Number of the last looked for.</param>
    /// <exception cref="HistoryException">As <see cref="Query"/>.</exception>
    public long Missing(long after, long through) =>
        through <= after ? 0 : through - after - Ask(connection => RecordQuery.Count(connection, after, through));

    internal T? Ask<T>(Func<SqliteConnection, T> question)
    {
        if (!File.Exists(path))
        {
            return default;
        }

        try
        {
            using var connection = new SqliteConnection(HistoryFile.ConnectionString(path, SqliteOpenMode.ReadOnly));
            connection.Open();
            return IsReadable(connection) ? question(connection) : default;
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
}

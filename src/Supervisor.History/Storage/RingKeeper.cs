using Microsoft.Data.Sqlite;
using Supervisor.History.Writing;

namespace Supervisor.History.Storage;

/// <summary>Keeps every kind of record, and the clock anchors, within a number of rows.</summary>
/// <remarks>Looking is not free, so a ring may run over by an eighth, and at most 256 rows, before its oldest go.</remarks>
internal sealed class RingKeeper
{
    private const int MaximumAnchors = 2_000;

    private readonly Dictionary<int, int> _sinceLook = [];
    private readonly SqliteConnection _connection;
    private readonly int _maximum;
    private readonly int _slack;

    public RingKeeper(SqliteConnection connection, int maximumPerKind)
    {
        _connection = connection;
        _maximum = maximumPerKind;
        _slack = Math.Clamp(maximumPerKind / 8, 1, 256);
    }

    /// <summary>Removes what runs over, in the transaction of the batch that made it run over.</summary>
    public void Prune(SqliteTransaction transaction, IReadOnlyList<PendingRecord> batch)
    {
        foreach (var kind in batch.Select(item => (int)item.Record!.Kind))
        {
            // The first look after opening happens at once: an earlier run may have had a wider ring.
            _sinceLook[kind] = _sinceLook.GetValueOrDefault(kind, _slack) + 1;
        }

        foreach (var kind in _sinceLook.Where(pair => pair.Value > _slack).Select(pair => pair.Key).ToArray())
        {
            Run(transaction, """
                DELETE FROM records WHERE kind = $kind AND sequence <=
                    (SELECT sequence FROM records WHERE kind = $kind ORDER BY sequence DESC LIMIT 1 OFFSET $keep)
                """, kind, _maximum);
            Run(transaction, """
                DELETE FROM clock_anchors WHERE anchor <= (SELECT anchor FROM clock_anchors ORDER BY anchor DESC LIMIT 1 OFFSET $keep)
                """, kind, MaximumAnchors);
            _sinceLook[kind] = 0;
        }
    }

    private void Run(SqliteTransaction transaction, string sql, int kind, int keep)
    {
        using var command = _connection.CreateCommand();
        command.CommandText = sql;
        command.Transaction = transaction;
        command.Parameters.AddWithValue("$kind", kind);
        command.Parameters.AddWithValue("$keep", keep);
        command.ExecuteNonQuery();
    }
}

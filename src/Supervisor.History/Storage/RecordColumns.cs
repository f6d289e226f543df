using Microsoft.Data.Sqlite;
using Supervisor.History.Incidents;

namespace Supervisor.History.Storage;

/// <summary>The columns of a row of records, found by name once for all rows of a result.</summary>
internal sealed class RecordColumns(SqliteDataReader rows)
{
    private readonly int _sequence = rows.GetOrdinal("sequence"), _monotonic = rows.GetOrdinal("monotonic_ns"), _kind = rows.GetOrdinal("kind");
    private readonly int _axis = rows.GetOrdinal("axis"), _port = rows.GetOrdinal("port"), _subject = rows.GetOrdinal("subject");
    private readonly int _code = rows.GetOrdinal("code"), _class = rows.GetOrdinal("class"), _driveCode = rows.GetOrdinal("drive_code");
    private readonly int _state = rows.GetOrdinal("state"), _command = rows.GetOrdinal("command_id"), _position = rows.GetOrdinal("position");
    private readonly int _detail = rows.GetOrdinal("detail"), _incident = rows.GetOrdinal("incident"), _count = rows.GetOrdinal("count");
    private readonly int _last = rows.GetOrdinal("last_monotonic_ns"), _relation = rows.GetOrdinal("relation"), _follows = rows.GetOrdinal("follows");

    public long Sequence => rows.GetInt64(_sequence);

    /// <summary>How many alike it stands for; 1 when for itself.</summary>
    public long Count => Number(_count) ?? 1;

    /// <summary>Monotonic time of the last of them; null when it stands for itself.</summary>
    public TimeSpan? Last => Number(_last) is { } last ? Units.Monotonic(last) : null;

    public Placement Placement => new(Number(_incident), (Relation)(Number(_relation) ?? 0), Number(_follows));

    public RecordRow Row() => new()
    {
        At = Units.Monotonic(rows.GetInt64(_monotonic)),
        Kind = rows.GetInt32(_kind),
        Axis = Text(_axis),
        Port = Text(_port),
        Subject = Text(_subject),
        Code = (int?)Number(_code),
        Class = (int?)Number(_class),
        DriveCode = (int?)Number(_driveCode),
        State = (int?)Number(_state),
        CommandId = (ulong?)Number(_command),
        Position = rows.IsDBNull(_position) ? null : rows.GetDouble(_position),
        Detail = Text(_detail),
    };

    /// <summary>A text of another column; null for NULL.</summary>
    public string? Text(int column) => rows.IsDBNull(column) ? null : rows.GetString(column);

    /// <summary>A number of another column; null for NULL.</summary>
    public long? Number(int column) => rows.IsDBNull(column) ? null : rows.GetInt64(column);
}

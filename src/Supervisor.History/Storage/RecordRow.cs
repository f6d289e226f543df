namespace Supervisor.History.Storage;

/// <summary>A record as columns: what is searched for in columns of its own, the rest as JSON in <see cref="Detail"/>.</summary>
internal sealed record RecordRow
{
    public required int Kind { get; init; }
    public required TimeSpan At { get; init; }
    public string? Axis { get; init; }
    public string? Port { get; init; }

    /// <summary>Name of what else the record is about: an interlock, a machine, a command.</summary>
    public string? Subject { get; init; }
    public int? Code { get; init; }
    public int? Class { get; init; }
    public int? DriveCode { get; init; }
    public int? State { get; init; }
    public ulong? CommandId { get; init; }

    /// <summary>Null for a position that is not known: SQLite has no NaN.</summary>
    public double? Position { get; init; }
    public string? Detail { get; init; }
}

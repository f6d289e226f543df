namespace Supervisor.History.Storage;

/// <summary>
/// Shape of the file. Later shapes only add tables and nullable columns, so that the version before can still read: <c>user_version</c> is the
/// shape, <c>meta.oldestReader</c> the oldest version that reads it rightly.
/// </summary>
/// <remarks>
/// A new file is made as an old one grows: the first shape and every step after it, so that both end alike. A step that has shipped is never
/// changed. Each feature keeps its statements in a part of its own, <c>Schema.FEATURE.cs</c>.
/// </remarks>
internal static partial class Schema
{
    /// <summary>Shape this version writes.</summary>
    public static int Version => Steps.Length;

    /// <summary>Marks the file as ours ("AXSV"), so that another program's database is never written to.</summary>
    public const int ApplicationId = 0x41585356;

    /// <summary>First SQLite without the WAL-reset race (3.7.0 to 3.51.2; sqlite.org/wal.html).</summary>
    public static readonly System.Version OldestSqlite = new(3, 51, 3);

    // The statements that lead to a shape from the one before; the first entry makes shape 1 out of nothing.
    private static string[][] Steps =>
    [
        [First],
        [RepeatsAndIncidents, Incidents, Recordings, WriteBudget],
        [Outbox],
    ];

    /// <summary>Statements that bring a file to <see cref="Version"/>; for a transaction of the caller's.</summary>
    /// <param name="shape">Shape it has; 0 for a file without tables.</param>
    public static string Grow(int shape) =>
        string.Join('\n', Steps.Skip(shape).SelectMany(step => step)) + $"\nPRAGMA user_version = {Version};";
}

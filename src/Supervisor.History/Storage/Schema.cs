namespace Supervisor.History.Storage;

/// <summary>
/// Shape of the file. Later versions only add tables and nullable columns, so that the version before can still read:
/// <c>user_version</c> is the shape, <c>meta.oldestReader</c> the oldest version that reads it rightly.
/// </summary>
internal static class Schema
{
    /// <summary>Shape this version writes.</summary>
    public const int Version = 1;

    /// <summary>Marks the file as ours ("AXSV"), so that another program's database is never written to.</summary>
    public const int ApplicationId = 0x41585356;

    /// <summary>First SQLite without the WAL-reset race (3.7.0 to 3.51.2; sqlite.org/wal.html).</summary>
    public static readonly System.Version OldestSqlite = new(3, 51, 3);

    public static string Create { get; } = $$"""
        PRAGMA application_id = {{ApplicationId}};
        PRAGMA user_version = {{Version}};
        CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
        INSERT INTO meta VALUES ('oldestReader', '1');
        CREATE TABLE boots (boot INTEGER PRIMARY KEY, boot_id TEXT NOT NULL UNIQUE);
        CREATE TABLE clock_anchors (
            anchor INTEGER PRIMARY KEY,
            boot INTEGER NOT NULL,
            monotonic_ns INTEGER NOT NULL,
            utc_us INTEGER NOT NULL,
            utc_quality INTEGER NOT NULL);
        CREATE INDEX clock_anchors_by_boot ON clock_anchors (boot, utc_quality, monotonic_ns);
        CREATE TABLE records (
            sequence INTEGER PRIMARY KEY,
            boot INTEGER NOT NULL,
            monotonic_ns INTEGER NOT NULL,
            utc_us INTEGER NOT NULL,
            utc_quality INTEGER NOT NULL,
            kind INTEGER NOT NULL,
            axis TEXT,
            port TEXT,
            subject TEXT,
            code INTEGER,
            class INTEGER,
            drive_code INTEGER,
            state INTEGER,
            command_id INTEGER,
            position REAL,
            detail TEXT);
        CREATE INDEX records_by_kind ON records (kind, sequence);
        """;
}

namespace Supervisor.History.Storage;

/// <content>Shape 1, as it shipped.</content>
internal static partial class Schema
{
    private static string First => $$"""
        PRAGMA application_id = {{ApplicationId}};
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

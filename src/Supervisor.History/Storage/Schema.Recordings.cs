namespace Supervisor.History.Storage;

/// <content>Samples around what happened.</content>
internal static partial class Schema
{
    // A recording has the sequence number of its record. kept: 0 when the day's share of the room was used up, so that it has no chunks.
    private const string Recordings = """
        CREATE TABLE recordings (
            recording INTEGER PRIMARY KEY,
            boot INTEGER NOT NULL,
            from_ns INTEGER NOT NULL,
            to_ns INTEGER NOT NULL,
            utc_us INTEGER NOT NULL,
            bytes INTEGER NOT NULL,
            kept INTEGER NOT NULL,
            head BLOB NOT NULL);
        CREATE TABLE recording_chunks (
            recording INTEGER NOT NULL,
            number INTEGER NOT NULL,
            axis INTEGER NOT NULL,
            data BLOB NOT NULL,
            UNIQUE (recording, number));
        """;
}

namespace Supervisor.History.Storage;

/// <content>Messages to a person: what is to be sent, and what was.</content>
internal static partial class Schema
{
    // through: incidents up to this number have been looked at for the channel. A message keeps its identity and, once written, its words.
    private const string Outbox = """
        CREATE TABLE outbox_channels (channel TEXT PRIMARY KEY, through INTEGER NOT NULL) WITHOUT ROWID;
        CREATE TABLE outbox (
            message INTEGER PRIMARY KEY,
            channel TEXT NOT NULL,
            kind INTEGER NOT NULL,
            identity TEXT NOT NULL,
            incident INTEGER,
            priority INTEGER NOT NULL,
            cause TEXT NOT NULL,
            state INTEGER NOT NULL,
            summary INTEGER,
            made_boot INTEGER NOT NULL,
            made_ns INTEGER NOT NULL,
            made_us INTEGER NOT NULL,
            made_quality INTEGER NOT NULL,
            done_boot INTEGER,
            done_ns INTEGER,
            done_us INTEGER,
            done_quality INTEGER,
            subject TEXT,
            body TEXT,
            written_us INTEGER,
            answer TEXT NOT NULL);
        CREATE INDEX outbox_waiting ON outbox (channel) WHERE state = 1;
        """;
}

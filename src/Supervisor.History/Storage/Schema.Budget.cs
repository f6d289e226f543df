namespace Supervisor.History.Storage;

/// <content>What was left of the bytes a day, so that a restart does not begin a new day.</content>
internal static partial class Schema
{
    private const string WriteBudget = """
        CREATE TABLE write_budget (
            share INTEGER PRIMARY KEY,
            bytes INTEGER NOT NULL,
            boot INTEGER NOT NULL,
            monotonic_ns INTEGER NOT NULL,
            utc_us INTEGER NOT NULL,
            utc_quality INTEGER NOT NULL);
        """;
}

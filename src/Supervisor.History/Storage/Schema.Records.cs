namespace Supervisor.History.Storage;

/// <content>What the records gained after shape 1.</content>
internal static partial class Schema
{
    /// <summary>Columns of <c>records</c> that shape 1 does not have; read as NULL there.</summary>
    public static readonly string[] LaterRecordColumns = ["incident", "count", "last_monotonic_ns", "relation", "follows"];

    // A row with a count stands for that many alike, the last of them at last_monotonic_ns of the same boot; without one it stands for itself.
    private const string RepeatsAndIncidents = """
        ALTER TABLE records ADD COLUMN incident INTEGER;
        ALTER TABLE records ADD COLUMN count INTEGER;
        ALTER TABLE records ADD COLUMN last_monotonic_ns INTEGER;
        """;
}

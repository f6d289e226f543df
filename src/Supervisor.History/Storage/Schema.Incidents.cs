namespace Supervisor.History.Storage;

/// <content>Incidents, and what makes questions quick.</content>
internal static partial class Schema
{
    // relation: how a record stands to the others of its incident; follows: number of the record it follows from. An index ends with the row's number,
    // so that each gives its rows in their order.
    private const string Incidents = """
        ALTER TABLE records ADD COLUMN relation INTEGER;
        ALTER TABLE records ADD COLUMN follows INTEGER;
        CREATE INDEX records_by_incident ON records (incident) WHERE incident IS NOT NULL;
        CREATE INDEX records_by_axis ON records (axis) WHERE axis IS NOT NULL;
        CREATE INDEX records_by_code ON records (code) WHERE code > 0;
        CREATE INDEX records_by_class ON records (class) WHERE class IS NOT NULL;
        """;
}

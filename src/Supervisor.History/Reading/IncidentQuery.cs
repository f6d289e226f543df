using Microsoft.Data.Sqlite;
using Supervisor.History.Entries;
using Supervisor.History.Storage;

namespace Supervisor.History.Reading;

/// <summary>Questions about incidents.</summary>
internal static class IncidentQuery
{
    private const int MostBefore = 15;
    private static readonly TimeSpan Before = TimeSpan.FromMinutes(5);

    /// <summary>What decides how an incident stands.</summary>
    private static readonly RecordKind[] Telling = [RecordKind.Fault, RecordKind.Notice, RecordKind.Return, RecordKind.Start, RecordKind.Link, RecordKind.Alarm];

    public static IncidentPage Page(SqliteConnection connection, HistoryFilter filter)
    {
        var limit = Math.Clamp(filter.Limit, 1, HistoryFilter.MaximumLimit);
        var numbers = RecordQuery.Incidents(connection, filter, limit + 1);
        var incidents = numbers.Take(limit).Select(number => Summary(connection, number)).OfType<IncidentSummary>().ToArray();
        return new IncidentPage(incidents, numbers.Count > limit ? numbers[limit - 1] : null);
    }

    public static IncidentStory? Story(SqliteConnection connection, long number)
    {
        if (Summary(connection, number) is not { } summary)
        {
            return null;
        }

        var records = Of(connection, number, [], IncidentStory.MaximumRecords);
        var all = connection.Scalar($"SELECT count(*) FROM records WHERE incident = {number}");
        return new IncidentStory(summary, ToldBefore(connection, summary), records, all - records.Count);
    }

    private static IncidentSummary? Summary(SqliteConnection connection, long number)
    {
        var records = Of(connection, number, Telling, IncidentStory.MaximumRecords);
        if (records.Count == 0)
        {
            return null;
        }

        var course = new IncidentCourse(records, StartAfter(connection, records[0]));
        var lead = records.LastOrDefault(record => record.Placement.Relation == Incidents.Relation.Leads)
            ?? (records[0].Placement.Follows is { } cause ? ByNumber(connection, cause) : null)
            ?? records[0];
        var faults = connection.Scalar($"SELECT count(*) FROM records WHERE incident = {number} AND +kind = {(int)RecordKind.Fault} AND class <> {(int)Records.Faults.FaultClass.Warning}");
        var consequences = connection.Scalar($"SELECT count(*) FROM records WHERE incident = {number} AND +kind = {(int)RecordKind.Fault} AND relation > {(int)Incidents.Relation.Further}");

        // What led until the loss of its port was told follows from that.
        consequences += lead.Record is LinkRecord ? records.Count(record => record.Placement.Relation == Incidents.Relation.Leads && record.Record is FaultRecord) : 0;
        return new IncidentSummary(number, records[0], lead, course.GraverThan(lead), faults, consequences, course.Axes, course.State, course.BackAfter);
    }

    /// <summary>What came before its first record, and what it follows from where that is older.</summary>
    private static List<StoredRecord> ToldBefore(SqliteConnection connection, IncidentSummary summary)
    {
        var page = RecordQuery.Page(connection, new HistoryFilter { BeforeSequence = summary.Number, Limit = MostBefore });
        var before = page.Records
            .Where(record => record.BootId == summary.First.BootId && summary.First.Record.At - record.Record.At <= Before)
            .Reverse().ToList();
        if (summary.Lead.Sequence < summary.Number && before.TrueForAll(record => record.Sequence != summary.Lead.Sequence))
        {
            before.Insert(0, summary.Lead);
        }

        return before;
    }

    private static List<StoredRecord> Of(SqliteConnection connection, long number, IReadOnlyList<RecordKind> kinds, int most)
    {
        var records = new List<StoredRecord>();
        var filter = new HistoryFilter { Incident = number, Kinds = kinds, OldestFirst = true, Limit = HistoryFilter.MaximumLimit };
        for (long? after = null; records.Count < most;)
        {
            var page = RecordQuery.Page(connection, filter with { AfterSequence = after });
            records.AddRange(page.Records);
            if ((after = page.NextBefore) is null)
            {
                break;
            }
        }

        return records;
    }

    private static StoredRecord? StartAfter(SqliteConnection connection, StoredRecord first) =>
        One(connection, new HistoryFilter { Kinds = [RecordKind.Start], AfterSequence = first.Sequence, OldestFirst = true });

    private static StoredRecord? ByNumber(SqliteConnection connection, long number) =>
        One(connection, new HistoryFilter { AfterSequence = number - 1, BeforeSequence = number + 1 });

    private static StoredRecord? One(SqliteConnection connection, HistoryFilter filter) =>
        RecordQuery.Page(connection, filter with { Limit = 1 }).Records is [var record, ..] ? record : null;
}

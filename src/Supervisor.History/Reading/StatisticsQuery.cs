using Microsoft.Data.Sqlite;
using Supervisor.History.Entries;
using Supervisor.History.Statistics;

namespace Supervisor.History.Reading;

/// <summary>Leads the records of a period past <see cref="StatisticsSteps"/>, a page at a time.</summary>
internal static class StatisticsQuery
{
    // A clock that is set back writes earlier times behind later ones.
    private static readonly TimeSpan Beyond = TimeSpan.FromDays(1);

    public static MachineStatistics Answer(SqliteConnection connection, StatisticsQuestion question)
    {
        var steps = new StatisticsSteps(question);

        // A start is where nothing of before matters: what was down is read from the last one before the period.
        var start = One(connection, new HistoryFilter { Kinds = [RecordKind.Start], Until = question.Since });
        var filter = new HistoryFilter { Kinds = StatisticsSteps.Kinds, OldestFirst = true, Limit = HistoryFilter.MaximumLimit, AfterSequence = start?.Sequence - 1 };
        var isBeyond = false;
        for (HistoryPage? page = null; page is null || (page.NextBefore is not null && !isBeyond);)
        {
            page = RecordQuery.Page(connection, page is null ? filter : filter with { AfterSequence = page.NextBefore });
            foreach (var stored in page.Records)
            {
                if (stored.Record is StartRecord && steps.IsRunning)
                {
                    Live(connection, steps, stored.Sequence);
                }

                steps.Take(stored);
                isBeyond |= stored.IsTimeKnown && stored.Utc >= question.Until + Beyond;
            }
        }

        if (!isBeyond && steps.IsRunning)
        {
            Live(connection, steps, null);
        }

        return steps.Result();
    }

    /// <summary>The last sign of life of a run that did not write its end.</summary>
    private static void Live(SqliteConnection connection, StatisticsSteps steps, long? before)
    {
        if (One(connection, new HistoryFilter { BeforeSequence = before }) is { } last && last.BootId == steps.Boot)
        {
            steps.Live(last);
        }
    }

    private static StoredRecord? One(SqliteConnection connection, HistoryFilter filter) =>
        RecordQuery.Page(connection, filter with { Limit = 1 }).Records is [var record, ..] ? record : null;
}

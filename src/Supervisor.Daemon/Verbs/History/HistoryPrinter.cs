using System.Text.Json;
using Supervisor.Api.V1;

namespace Supervisor.Daemon.Verbs.History;

/// <summary>How records are printed.</summary>
internal enum HistoryShape
{
    Lines,
    Json,
    Csv,
}

/// <summary>Prints records one by one in one shape.</summary>
internal sealed class HistoryPrinter(TextWriter to, HistoryShape shape)
{
    public void Begin()
    {
        if (shape == HistoryShape.Csv)
        {
            HistoryCsv.WriteHeader(to);
        }
    }

    public void Print(HistoryRecord record)
    {
        switch (shape)
        {
            case HistoryShape.Csv:
                HistoryCsv.Write(to, record);
                break;
            case HistoryShape.Json:
                to.WriteLine(JsonSerializer.Serialize(HistoryJsonRecord.From(record), JsonShapes.Readable.HistoryJsonRecord));
                break;
            default:
                to.WriteLine(HistoryText.Line(record));
                break;
        }
    }

    /// <summary>Prints what a stream brought.</summary>
    /// <returns>Behind which number to go on after a break; null where it does not say.</returns>
    public long? Follow(FollowRecordsResponse response)
    {
        switch (response.EventCase)
        {
            case FollowRecordsResponse.EventOneofCase.Record when shape == HistoryShape.Json:
                Print(new HistoryFollowJson(HistoryJsonRecord.From(response.Record), null));
                return response.Record.Sequence;
            case FollowRecordsResponse.EventOneofCase.Record:
                Print(response.Record);
                return response.Record.Sequence;
            case FollowRecordsResponse.EventOneofCase.Gap when shape == HistoryShape.Json:
                Print(new HistoryFollowJson(null, new HistoryGapJson(response.Gap.FirstSequence, response.Gap.LastSequence, response.Gap.Missing)));
                return null;
            case FollowRecordsResponse.EventOneofCase.Gap when shape == HistoryShape.Csv:
                // No line of the table, and not to be overlooked.
                Terminal.Error(HistoryText.Gap(response.Gap));
                return null;
            case FollowRecordsResponse.EventOneofCase.Gap:
                to.WriteLine(HistoryText.Gap(response.Gap));
                return null;
            case FollowRecordsResponse.EventOneofCase.Progress:
                return response.Progress.ThroughSequence;
            default:
                return null;
        }
    }

    /// <param name="count">Records printed.</param>
    /// <param name="isMore">True when there are older ones that would pass.</param>
    public void End(int count, bool isMore)
    {
        if (shape != HistoryShape.Lines)
        {
            return;
        }

        if (count == 0)
        {
            to.WriteLine("nothing recorded that fits");
        }
        else if (isMore)
        {
            to.WriteLine($"There is more: --limit above {count}, or --until.");
        }
    }

    private void Print(HistoryFollowJson line) => to.WriteLine(JsonSerializer.Serialize(line, JsonShapes.Readable.HistoryFollowJson));
}

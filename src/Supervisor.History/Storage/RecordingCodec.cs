using Supervisor.History.Entries;

namespace Supervisor.History.Storage;

/// <summary>Records of recordings to columns and back; their samples are in tables of their own.</summary>
internal static class RecordingCodec
{
    public static RecordRow ToRow(RecordingRecord record, RecordRow row) => row with
    {
        Axis = RecordCodec.Cut(record.Axis), Subject = RecordCodec.Cut(record.What),
        Detail = Detail.Write(
            ("fromUs", Whole(record.From)), ("toUs", Whole(record.To)), ("events", (long)record.Events), ("eventsBeyond", (long)record.EventsBeyond),
            ("gaps", (long)record.Gaps), ("minor", record.IsMinor ? 1L : 0L)),
    };

    public static RecordingRecord FromRow(RecordRow row, Detail detail) => new(
        row.At, row.Axis, row.Subject ?? "", RecordCodec.Time(detail, "fromUs") ?? row.At, RecordCodec.Time(detail, "toUs") ?? row.At)
    {
        Events = (int)detail.Number("events"),
        EventsBeyond = (int)detail.Number("eventsBeyond"),
        Gaps = (int)detail.Number("gaps"),
        IsMinor = detail.Number("minor") != 0,
    };

    private static long Whole(TimeSpan time) => time.Ticks / TimeSpan.TicksPerMicrosecond;
}

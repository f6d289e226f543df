using Supervisor.History.Entries;
using Supervisor.Records.Alarms;
using Supervisor.Records.Faults;

namespace Supervisor.History.Storage;

/// <summary>Steps in the life of alarms, to columns and back.</summary>
internal static class AlarmCodec
{
    public static RecordRow ToRow(AlarmRecord record, RecordRow row) => row with
    {
        Axis = RecordCodec.Cut(record.Axis), Port = RecordCodec.Cut(record.Port),
        Subject = record.Axis is null && record.Port is null && record.Source.Length > 0 ? RecordCodec.Cut(record.Source) : null,
        Code = record.Number,
        Detail = Detail.Write(
            ("change", (long)record.Change), ("source", (long)record.SourceKind), ("by", record.By), ("text", record.Text), ("priority", (long)record.Priority), ("forUs", RecordCodec.Microseconds(record.For))),
    };

    public static AlarmRecord FromRow(RecordRow row, Detail detail) => new(
        row.At, row.Code ?? 0, (AlarmSourceKind)detail.Number("source"), row.Axis ?? row.Port ?? row.Subject ?? "", (AlarmChange)detail.Number("change"))
    {
        By = detail.Text("by"),
        Text = detail.Text("text"),
        For = RecordCodec.Time(detail, "forUs"),
        Priority = (FaultPriority)detail.Number("priority"),
    };
}

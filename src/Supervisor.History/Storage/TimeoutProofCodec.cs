using Supervisor.History.Entries;
using Supervisor.Records.Stops;

namespace Supervisor.History.Storage;

/// <summary>Proofs of communication time-outs to columns and back.</summary>
internal static class TimeoutProofCodec
{
    public static RecordRow ToRow(TimeoutProofRecord record, RecordRow row) => row with
    {
        Axis = RecordCodec.Cut(record.Axis), DriveCode = record.DriveCode, CommandId = record.CommandId,
        Detail = Detail.Write(
            ("unit", record.Unit), ("verdict", (long)record.Verdict), ("reaction", record.Reaction), ("holder", record.Holder),
            ("timeoutUs", RecordCodec.Microseconds(record.Timeout)), ("silenceUs", RecordCodec.Microseconds(record.Silence)),
            ("velocity", record.Velocity), ("distance", record.Distance), ("allowed", record.Allowed),
            ("restUs", RecordCodec.Microseconds(record.RestAfter)), ("offUs", RecordCodec.Microseconds(record.OffAfter)),
            ("actedUs", RecordCodec.Microseconds(record.ActedAfter))),
    };

    public static TimeoutProofRecord FromRow(RecordRow row, Detail detail) => new(
        row.At, row.Axis ?? "", detail.Text("unit"), (TimeoutVerdict)detail.Number("verdict"), detail.Text("reaction"),
        RecordCodec.Time(detail, "timeoutUs") ?? TimeSpan.Zero, RecordCodec.Time(detail, "silenceUs") ?? TimeSpan.Zero,
        detail.Real("velocity"), detail.Real("distance"), detail.Has("allowed") ? detail.Real("allowed") : null)
    {
        RestAfter = RecordCodec.Time(detail, "restUs"),
        OffAfter = RecordCodec.Time(detail, "offUs"),
        ActedAfter = RecordCodec.Time(detail, "actedUs"),
        DriveCode = (ushort)(row.DriveCode ?? 0),
        CommandId = row.CommandId ?? 0,
        Holder = detail.Text("holder"),
    };
}

using Supervisor.History.Entries;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.History.Storage;

/// <summary>Records to columns and back. Numbers of enumerations are stored; a number a newer version wrote passes through.</summary>
internal static class RecordCodec
{
    public static RecordRow ToRow(HistoryRecord record) => record switch
    {
        StartRecord r => Row(r) with
        {
            Subject = Cut(r.Machine),
            Detail = Detail.Write(("version", r.Version), ("fileHash", r.FileHash), ("previousEnd", (long)r.PreviousEnd), ("previousFileHash", r.PreviousFileHash)),
        },
        EndRecord r => Row(r) with { Detail = Detail.Write(("reason", r.Reason)) },
        FaultRecord r => Row(r) with
        {
            Axis = Cut(r.Axis), Port = Cut(r.Port), Subject = Cut(r.Interlock), Code = (int)r.Code, Class = (int)r.Class, DriveCode = r.DriveCode,
            State = (int)r.State, CommandId = r.CommandId, Position = double.IsFinite(r.Position) ? r.Position : null,
            Detail = (r.Note.Length > 0, r.ConsequenceOf.Length > 0) switch
            {
                (true, true) => Detail.Write(("note", r.Note), ("consequenceOf", r.ConsequenceOf)),
                (true, false) => Detail.Write(("note", r.Note)),
                (false, true) => Detail.Write(("consequenceOf", r.ConsequenceOf)),
                _ => null,
            },
        },
        InterlockRecord r => Row(r) with
        {
            Subject = Cut(r.Interlock), Detail = Detail.Write(("change", (long)r.Change), ("inputs", r.Inputs)),
        },
        RecoveryRecord r => Row(r) with
        {
            Axis = Cut(r.Axis), Code = (int)r.Code,
            Detail = Detail.Write(("step", (long)r.Step), ("attempt", (long)r.Attempt), ("attempts", (long)r.Attempts), ("detail", r.Detail), ("action", r.Action)),
        },
        LinkRecord r => Row(r) with
        {
            Axis = Cut(r.Axis), Port = Cut(r.Port), Detail = Detail.Write(("restored", r.Restored ? 1L : 0L), ("detail", r.Detail)),
        },
        CommandRecord r => Row(r) with
        {
            Axis = Cut(r.Axis), Subject = Cut(r.Command), Code = (int)r.Fault, CommandId = r.CommandId,
            Detail = Detail.Write(("holder", r.Holder), ("outcome", (long)r.Outcome), ("refusal", (long)r.Refusal), ("message", r.Message), ("axes", r.Axes.Count > 0 ? r.Axes : null)),
        },
        NoticeRecord r => Row(r) with
        {
            Detail = Detail.Write(("notice", (long)r.Notice), ("count", r.Count), ("message", r.Message)),
        },
        StopRecord r => Row(r) with
        {
            Axis = Cut(r.Axis), Subject = Cut(r.Cause),
            Detail = Detail.Write(
                ("unit", r.Unit), ("category", (long)r.Category), ("velocity", r.Velocity), ("distance", r.Distance),
                ("restUs", Microseconds(r.RestAfter)), ("offUs", Microseconds(r.OffAfter))),
        },
        TimeoutProofRecord r => TimeoutProofCodec.ToRow(r, Row(r)),
        ReturnRecord r => AxisEventCodec.ToRow(r, Row(r)),
        ParameterRecord r => AxisEventCodec.ToRow(r, Row(r)),
        RecordingRecord r => RecordingCodec.ToRow(r, Row(r)),
        AlarmRecord r => AlarmCodec.ToRow(r, Row(r)),
        _ => throw new ArgumentException($"Records of type {record.GetType().Name} can't be stored.", nameof(record)),
    };

    public static HistoryRecord FromRow(RecordRow row)
    {
        var detail = Detail.Read(row.Detail);
        return (RecordKind)row.Kind switch
        {
            RecordKind.Start => new StartRecord(
                row.At, detail.Text("version"), row.Subject ?? "", detail.Text("fileHash"), (PreviousEnd)detail.Number("previousEnd"))
            {
                PreviousFileHash = detail.Text("previousFileHash"),
            },
            RecordKind.End => new EndRecord(row.At, detail.Text("reason")),
            RecordKind.Fault => new FaultRecord(
                row.At, row.Axis, row.Port, row.Subject, Code(row), (FaultClass)(row.Class ?? 0), (ushort)(row.DriveCode ?? 0),
                (AxisState)(row.State ?? 0), row.CommandId ?? 0, row.Position ?? double.NaN) { Note = detail.Text("note"), ConsequenceOf = detail.Text("consequenceOf") },
            RecordKind.Interlock => new InterlockRecord(
                row.At, row.Subject ?? "", (InterlockChange)detail.Number("change"), detail.Texts("inputs")),
            RecordKind.Recovery => new RecoveryRecord(
                row.At, row.Axis ?? "", Code(row), (RecoveryStep)detail.Number("step"), (int)detail.Number("attempt"), (int)detail.Number("attempts"),
                detail.Text("detail")) { Action = detail.Text("action") },
            RecordKind.Link => new LinkRecord(
                row.At, row.Port ?? "", row.Axis, detail.Number("restored") != 0, detail.Text("detail")),
            RecordKind.Command => new CommandRecord(
                row.At, row.CommandId ?? 0, row.Subject ?? "", detail.Text("holder"), row.Axis, (Outcome)detail.Number("outcome"),
                (Refusal)detail.Number("refusal"), Code(row), detail.Text("message")) { Axes = detail.Texts("axes") },
            RecordKind.Notice => new NoticeRecord(row.At, (NoticeKind)detail.Number("notice"), detail.Number("count"), detail.Text("message")),
            RecordKind.Stop => new StopRecord(
                row.At, row.Axis ?? "", detail.Text("unit"), row.Subject ?? "", (int)detail.Number("category"), detail.Real("velocity"), detail.Real("distance"),
                Time(detail, "restUs"), Time(detail, "offUs")),
            RecordKind.TimeoutProof => TimeoutProofCodec.FromRow(row, detail),
            RecordKind.Return => AxisEventCodec.Return(row, detail),
            RecordKind.Parameter => AxisEventCodec.Parameter(row, detail),
            RecordKind.Recording => RecordingCodec.FromRow(row, detail),
            RecordKind.Alarm => AlarmCodec.FromRow(row, detail),
            _ => new UnknownRecord(row.At, row.Kind, row.Axis, row.Detail ?? ""),
        };
    }

    internal static string? Cut(string? text)
    {
        if (text is null || text.Length <= HistoryRecord.MaximumTextLength)
        {
            return text;
        }

        // Not between the two halves of one character.
        var length = HistoryRecord.MaximumTextLength - (char.IsHighSurrogate(text[HistoryRecord.MaximumTextLength - 1]) ? 1 : 0);
        return text[..length];
    }

    private static RecordRow Row(HistoryRecord record) => new() { Kind = (int)record.Kind, At = record.At };

    internal static double Microseconds(TimeSpan? time) => time?.TotalMicroseconds ?? double.NaN;

    internal static TimeSpan? Time(Detail detail, string name) => detail.Has(name) ? TimeSpan.FromTicks((long)Math.Round(detail.Real(name) * TimeSpan.TicksPerMicrosecond)) : null;

    private static FaultCode Code(RecordRow row) => (FaultCode)(row.Code ?? 0);
}

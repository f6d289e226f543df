using Supervisor.History.Entries;
using Supervisor.Records.Faults;

namespace Supervisor.History.Storage;

/// <summary>What changed on an axis, to columns and back.</summary>
internal static class AxisEventCodec
{
    public static RecordRow ToRow(ReturnRecord record, RecordRow row) => row with
    {
        Axis = RecordCodec.Cut(record.Axis), Code = (int)record.Code, Detail = Detail.Write(("step", (long)record.Step)),
    };

    public static RecordRow ToRow(ParameterRecord record, RecordRow row) => row with
    {
        Axis = RecordCodec.Cut(record.Axis), Subject = RecordCodec.Cut(record.Parameter),
        Detail = Detail.Write(
            ("unit", record.Unit), ("wanted", record.Wanted), ("outcome", (long)record.Outcome), ("before", record.Before ?? double.NaN),
            ("after", record.After ?? double.NaN), ("holder", record.Holder)),
    };

    public static ReturnRecord Return(RecordRow row, Detail detail) =>
        new(row.At, row.Axis ?? "", (FaultCode)(row.Code ?? 0), (ReturnStep)detail.Number("step"));

    public static ParameterRecord Parameter(RecordRow row, Detail detail) => new(
        row.At, row.Axis ?? "", row.Subject ?? "", detail.Text("unit"), detail.Real("wanted"), (ParameterChange)detail.Number("outcome"))
    {
        Before = detail.Has("before") ? detail.Real("before") : null,
        After = detail.Has("after") ? detail.Real("after") : null,
        Holder = detail.Text("holder"),
    };
}

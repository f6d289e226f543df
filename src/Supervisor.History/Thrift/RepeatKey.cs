using Supervisor.History.Entries;
using Supervisor.Records.Alarms;

namespace Supervisor.History.Thrift;

/// <summary>What makes two records alike enough to be told as first, last and count.</summary>
internal readonly record struct RepeatKey(RecordKind Kind, string? Axis, string? Place, string? What, long Code, long Detail)
{
    /// <summary>The key of a record; null for one that is always kept by itself.</summary>
    public static RepeatKey? Of(HistoryRecord record) => record switch
    {
        FaultRecord r => new(r.Kind, r.Axis, r.Port, r.Interlock, (long)r.Code, r.DriveCode),
        StopRecord r => new(r.Kind, r.Axis, null, r.Cause, 0, r.Category),
        RecoveryRecord r => new(r.Kind, r.Axis, null, r.Action, (long)r.Code, (long)r.Step),
        ReturnRecord r => new(r.Kind, r.Axis, null, null, (long)r.Code, (long)r.Step),
        LinkRecord r => new(r.Kind, r.Axis, r.Port, null, 0, r.Restored ? 1 : 0),
        InterlockRecord r => new(r.Kind, null, null, r.Interlock, 0, (long)r.Change),

        // What was asked for without its numbers: a client that tries one place after another repeats itself.
        CommandRecord r => new(r.Kind, r.Axis, null, r.Command.Split(' ', 2)[0], (long)r.Fault, ((long)r.Outcome << 32) | (long)r.Refusal),

        // What a person did is kept by itself.
        AlarmRecord { Change: AlarmChange.Raised or AlarmChange.Cleared } r => new(r.Kind, r.Axis, r.Port, r.Source, r.Number, (long)r.Change),
        _ => null,
    };
}

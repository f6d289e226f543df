using Google.Protobuf.WellKnownTypes;
using Supervisor.Api.V1;
using Supervisor.Configuration.Machines;
using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using AlarmKey = Supervisor.Records.Alarms.AlarmKey;
using AlarmSourceKind = Supervisor.Records.Alarms.AlarmSourceKind;
using CommandRecord = Supervisor.History.Entries.CommandRecord;
using FaultRecord = Supervisor.History.Entries.FaultRecord;
using HistoryRecord = Supervisor.Api.V1.HistoryRecord;
using RecoveryRecord = Supervisor.History.Entries.RecoveryRecord;
using Relation = Supervisor.Api.V1.Relation;
using StopRecord = Supervisor.History.Entries.StopRecord;

namespace Supervisor.Daemon.Services;

/// <summary>Records of any kind as messages. Numbers of kinds and relations are those of the file.</summary>
internal sealed class RecordMapping(MachineDefinition machine)
{
    public HistoryRecord ToMessage(StoredRecord stored)
    {
        var message = new HistoryRecord
        {
            Sequence = stored.Sequence,
            TimeQuality = QualityOf(stored),
            SinceBootS = stored.Record.At.TotalSeconds,
            Boot = stored.BootId,
            Kind = System.Enum.IsDefined((Api.V1.RecordKind)stored.Record.Kind) ? (Api.V1.RecordKind)stored.Record.Kind : Api.V1.RecordKind.Unspecified,
            Incident = stored.Incident ?? 0,
            Relation = System.Enum.IsDefined((Relation)stored.Placement.Relation) ? (Relation)stored.Placement.Relation : Relation.Unspecified,
            Follows = stored.Placement.Follows ?? 0,
            Count = stored.Count,
            LastSinceBootS = stored.Last.TotalSeconds,
        };
        if (stored.IsTimeKnown)
        {
            message.Time = Timestamp.FromDateTimeOffset(stored.Utc);
        }

        Fill(message, stored);
        message.Unit = machine.AxisIndex(message.Axis) is >= 0 and var axis ? machine.Axes[axis].Unit : "";
        message.Text = RecordText.Of(stored, message.Unit);
        return message;
    }

    /// <summary>The class of a fault as the machine file names it.</summary>
    public static string WordOf(FaultClass @class)
    {
        var name = @class.ToString();
        return char.ToLowerInvariant(name[0]) + name[1..];
    }

    private static TimeQuality QualityOf(StoredRecord stored) => stored switch
    {
        { IsTimeKnown: false } => TimeQuality.Unknown,
        { Quality: UtcQuality.Synchronised } => TimeQuality.Synchronised,
        { Quality: UtcQuality.Derived } => TimeQuality.Derived,
        _ => TimeQuality.Unsynchronised,
    };

    private static void Fill(HistoryRecord message, StoredRecord stored)
    {
        switch (stored.Record)
        {
            case FaultRecord fault:
                Fill(message, fault);
                break;
            case InterlockRecord interlock:
                message.Interlock = interlock.Interlock;
                break;
            case LinkRecord link:
                (message.Axis, message.Port) = (link.Axis ?? "", link.Port);
                break;
            case CommandRecord command:
                (message.Axis, message.CommandId, message.Command, message.Holder) = (command.Axis ?? "", command.CommandId, command.Command, command.Holder);
                message.Outcome = OutcomeOf(command.Outcome);
                message.Fault = ApiErrors.ReasonOf(command.Fault);
                break;
            case RecoveryRecord step:
                (message.Axis, message.Fault, message.Recovery) = (step.Axis, ApiErrors.ReasonOf(step.Code), RecoveryMapping.ToMessage(stored));
                break;
            case StopRecord stop:
                (message.Axis, message.Stop) = (stop.Axis, StopMapping.ToMessage(stored));
                break;
            case ReturnRecord back:
                (message.Axis, message.Fault) = (back.Axis, ApiErrors.ReasonOf(back.Code));
                break;
            case ParameterRecord parameter:
                (message.Axis, message.Holder) = (parameter.Axis, parameter.Holder);
                break;
            case History.Entries.TimeoutProofRecord proof:
                (message.Axis, message.Holder, message.CommandId, message.DriveCode) = (proof.Axis, proof.Holder, proof.CommandId, proof.DriveCode);
                break;
            case RecordingRecord recording:
                message.Axis = recording.Axis ?? "";
                break;
            case AlarmRecord alarm:
                (message.Axis, message.Port, message.Holder) = (alarm.Axis ?? "", alarm.Port ?? "", alarm.By);
                message.Interlock = alarm.SourceKind == AlarmSourceKind.Interlock ? alarm.Source : "";
                message.Fault = alarm.Number < AlarmKey.FirstOwn ? ApiErrors.ReasonOf((FaultCode)alarm.Number) : "";
                break;
            case UnknownRecord unknown:
                message.Axis = unknown.Axis ?? "";
                break;
            default:
                break;
        }
    }

    private static void Fill(HistoryRecord message, FaultRecord fault)
    {
        (message.Axis, message.Port, message.Interlock) = (fault.Axis ?? "", fault.Port ?? "", fault.Interlock ?? "");
        (message.Fault, message.FaultClass, message.DriveCode) = (ApiErrors.ReasonOf(fault.Code), WordOf(fault.Class), fault.DriveCode);
        (message.State, message.CommandId) = (StatusMapping.ToMessage(fault.State), fault.CommandId);
        if (double.IsFinite(fault.Position) && fault.Axis is not null)
        {
            message.Position = fault.Position;
        }
    }

    private static Api.V1.Outcome OutcomeOf(Records.Commands.Outcome outcome) => outcome switch
    {
        Records.Commands.Outcome.Done => Api.V1.Outcome.Done,
        Records.Commands.Outcome.Replaced => Api.V1.Outcome.Replaced,
        Records.Commands.Outcome.Refused => Api.V1.Outcome.Refused,
        Records.Commands.Outcome.Failed => Api.V1.Outcome.Failed,
        _ => Api.V1.Outcome.Unspecified,
    };
}

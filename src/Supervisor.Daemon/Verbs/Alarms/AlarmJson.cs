using System.Globalization;
using Google.Protobuf.WellKnownTypes;
using Supervisor.Api.V1;
using Supervisor.Daemon.Verbs.History;

namespace Supervisor.Daemon.Verbs.Alarms;

/// <summary>Alarms for programs, the gravest first; how many could not be listed.</summary>
public sealed record AlarmListJson(IReadOnlyList<AlarmJson> Alarms, long NotKept);

/// <summary>One alarm. What does not concern it is null. <c>Source</c> is empty where it is about the machine.</summary>
public sealed record AlarmJson(
    int Number, string Kind, string Source, string State, string Priority, string? Fault, string Name, string Detail, string Since, string LastTime, string? ReturnedTime,
    bool TimeTrusted, long Occurrences, long Occurrence, bool Latching, bool Chattering, bool Stale, AcknowledgedJson? Acknowledged, OutOfServiceJson? OutOfService)
{
    public static AlarmJson From(Alarm alarm)
    {
        ArgumentNullException.ThrowIfNull(alarm);
        return new(
            alarm.Key.Number, HistoryJsonRecord.Word(alarm.Key.SourceKind), alarm.Key.Source, HistoryJsonRecord.Word(alarm.State), HistoryJsonRecord.Word(alarm.Priority),
            alarm.Fault.Length > 0 ? alarm.Fault : null, alarm.Name, alarm.Detail, Time(alarm.Since), Time(alarm.LastTime), alarm.ReturnedTime is { } returned ? Time(returned) : null,
            alarm.TimeTrusted, alarm.Occurrences, alarm.Occurrence, alarm.Latching, alarm.Chattering, alarm.Stale,
            alarm.Acknowledgement is { } known ? new AcknowledgedJson(known.By, Time(known.Time)) : null,
            alarm.OutOfService is { } shelf ? new OutOfServiceJson(shelf.By, shelf.Reason, Time(shelf.Since), Time(shelf.Until), Math.Round(shelf.RemainingS, 1)) : null);
    }

    private static string Time(Timestamp time) => time.ToDateTime().ToString("O", CultureInfo.InvariantCulture);
}

/// <summary>Who acknowledged it, and when.</summary>
public sealed record AcknowledgedJson(string By, string Time);

/// <summary>Who took it out of service, why, since and until when, and the seconds that are left.</summary>
public sealed record OutOfServiceJson(string By, string Reason, string Since, string Until, double RemainingS);

/// <summary>What became of what a person did, and whether the disk has it.</summary>
public sealed record AlarmAnswerJson(string Message, bool Kept);

/// <summary>The alarms in short: how many are not over, how many nobody has acknowledged, are out of service, chatter and are stale, and the gravest; null when there is none.</summary>
public sealed record AlarmSummaryJson(int Count, int Unacknowledged, int OutOfService, int Chattering, int Stale, string? Gravest, string? GravestPriority);

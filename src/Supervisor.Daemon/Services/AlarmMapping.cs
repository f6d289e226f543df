using Google.Protobuf.WellKnownTypes;
using Supervisor.Api.V1;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Hosting;
using Supervisor.History.Clocks;
using Supervisor.Machine.Alarms;
using Supervisor.Machine.Api;
using Supervisor.Records.Alarms;
using Supervisor.Records.Faults;
using AlarmKey = Supervisor.Records.Alarms.AlarmKey;
using AlarmSourceKind = Supervisor.Api.V1.AlarmSourceKind;
using AlarmState = Supervisor.Api.V1.AlarmState;
using AlarmStatus = Supervisor.Machine.Api.AlarmStatus;

namespace Supervisor.Daemon.Services;

/// <summary>Alarms as messages. Numbers of states, kinds and priorities are those of the records, which begin with 0, and one more where theirs begin with 1.</summary>
internal sealed class AlarmMapping(MachineDefinition machine)
{
    private readonly AlarmNames _names = new(machine);

    /// <param name="alarm">The alarm.</param>
    /// <param name="language">In which of the machine file's languages its texts are told; empty: the first.</param>
    public Alarm ToMessage(AlarmStatus alarm, string language) => ToMessage(alarm, language, WallClock.Read());

    /// <summary>What differs between two lists; everything where there is none before.</summary>
    public AlarmUpdate Change(AlarmList? before, AlarmList now, string language)
    {
        // Of an alarm that did not change the same copy is in both.
        var known = (before?.Alarms ?? []).ToDictionary(alarm => alarm.Key);
        var clocks = WallClock.Read();
        var change = new AlarmUpdate();
        foreach (var alarm in now.Alarms)
        {
            if (!known.Remove(alarm.Key, out var told) || !ReferenceEquals(told, alarm))
            {
                change.Alarms.Add(ToMessage(alarm, language, clocks));
            }
        }

        change.Ended.AddRange(known.Keys.Select(ToMessage));
        return change;
    }

    /// <summary>The alarms in short, for the machine's status.</summary>
    public AlarmSummary Summary(AlarmList list)
    {
        var summary = new AlarmSummary
        {
            Count = list.Alarms.Count(alarm => alarm.State is not Records.Alarms.AlarmState.Normal && !alarm.State.IsShelved()),
            Unacknowledged = list.Alarms.Count(alarm => alarm.State.IsUnacknowledged()),
            OutOfService = list.Alarms.Count(alarm => alarm.State.IsShelved()),
            Chattering = list.Alarms.Count(alarm => alarm.IsChattering),
            Stale = list.Alarms.Count(alarm => alarm.IsStale),
        };

        // The list begins with the gravest.
        if (list.Alarms is [{ State: not Records.Alarms.AlarmState.Normal } gravest, ..] && !gravest.State.IsShelved())
        {
            (summary.Gravest, summary.GravestPriority) = (_names.Describe(gravest.Key), gravest.Priority.ToString().ToLowerInvariant());
        }

        return summary;
    }

    private Alarm ToMessage(AlarmStatus alarm, string language, in ClockReading now)
    {
        var clocks = now;
        var message = new Alarm
        {
            Key = ToMessage(alarm.Key),
            State = (AlarmState)(alarm.State + 1),
            Priority = ToMessage(alarm.Priority),
            Detail = alarm.Detail,
            Since = Time(alarm.Since),
            LastTime = Time(alarm.LastAt),
            ReturnedTime = alarm.ReturnedAt is { } returned ? Time(returned) : null,
            TimeTrusted = now.Quality == UtcQuality.Synchronised,
            Occurrences = alarm.Occurrences,
            Occurrence = alarm.Occurrence,
            Latching = alarm.IsLatching,
            Chattering = alarm.IsChattering,
            Stale = alarm.IsStale,
            Acknowledgement = alarm.Acknowledged is { } known ? new AlarmAcknowledgement { By = known.By, Time = Time(known.At) } : null,
            OutOfService = alarm.OutOfService is { } shelf
                ? new AlarmOutOfService
                {
                    By = shelf.By, Reason = shelf.Reason, Since = Time(shelf.At), Until = Time(shelf.Until), RemainingS = Math.Max(0, (shelf.Until - now.Monotonic).TotalSeconds),
                }
                : null,
        };
        Describe(message, alarm.Key, language);
        return message;

        Timestamp Time(TimeSpan at) => Timestamp.FromDateTimeOffset(clocks.Utc - (clocks.Monotonic - at));
    }

    private void Describe(Alarm message, AlarmKey key, string language)
    {
        if (key.IsOwn)
        {
            if (machine.OwnAlarm(key.Number) is { } own)
            {
                var texts = own.Texts[machine.Languages.Find(language)];
                (message.Name, message.Remedy) = (texts.Name, texts.Remedy);
                message.Causes.Add(texts.Cause);
            }
            else
            {
                message.Name = _names.Describe(key);
            }

            return;
        }

        var entry = FaultCatalogue.Entry((FaultCode)key.Number);
        (message.Fault, message.Name, message.Meaning, message.Remedy) = (ApiErrors.ReasonOf(entry.Code), entry.Name, entry.Meaning, entry.Remedy);
        message.Causes.AddRange(entry.Causes);
    }

    private Api.V1.AlarmKey ToMessage(AlarmKey key) =>
        new() { Number = key.Number, SourceKind = (AlarmSourceKind)(key.Source.Kind + 1), Source = _names.Of(key.Source) };

    private static AlarmPriority ToMessage(FaultPriority priority) => (AlarmPriority)priority;
}

using Supervisor.Machine.Api;
using Supervisor.Records.Alarms;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Alarms;

/// <content>What people do with alarms, and what an earlier run left.</content>
internal sealed partial class AlarmDesk
{
    private const FaultPriority AboveAll = (FaultPriority)byte.MaxValue;

    /// <summary>A person says that they know; means nothing where nobody is asked.</summary>
    public bool Acknowledge(Alarm alarm, string by)
    {
        if (!alarm.TryGo(AlarmEvent.Acknowledged))
        {
            return false;
        }

        alarm.Acknowledged = new PersonsAct(by, _now);
        journal.Alarm(new AlarmNote(_now, alarm.Key, AlarmChange.Acknowledged, by, "", null));
        Changed(alarm);
        return true;
    }

    /// <summary>Takes an alarm out of service; the caller has asked whether that may be.</summary>
    public void TakeOut(AlarmKey key, FaultPriority priority, TimeSpan time, string reason, string by)
    {
        // A person's choice is worth more than what would have to go for it.
        if ((Find(key) ?? Add(key, AboveAll)) is not { } alarm)
        {
            throw new InvalidOperationException($"More than {AlarmRules.MostOutOfService} alarms are out of service.");
        }

        if (alarm.State == AlarmState.Normal)
        {
            (alarm.Priority, alarm.Since, alarm.Occurrences) = (priority, _now, 0);
        }

        alarm.TryGo(AlarmEvent.TakenOutOfService);
        (alarm.OutOfService, alarm.Acknowledged) = (new OutOfService(by, reason, _now, _now + time), null);
        journal.Alarm(new AlarmNote(_now, key, AlarmChange.OutOfService, by, reason, _now + time));
        Changed(alarm);
    }

    /// <summary>A person puts it back into service.</summary>
    public void PutBack(Alarm alarm, string by) => PutBack(alarm, AlarmChange.BackInService, by);

    /// <summary>Takes up what an earlier run left; before the first step.</summary>
    /// <param name="left">Alarms, times by the clock of this boot.</param>
    public void Restore(IReadOnlyList<AlarmStatus> left)
    {
        foreach (var status in left)
        {
            if (_alarms.Count >= AlarmRules.MostKept || status.State == AlarmState.Normal || Find(status.Key) is not null)
            {
                continue;
            }

            var alarm = Add(status.Key, status.Priority)!;
            alarm.Restore(status);
            _occurrence = Math.Max(_occurrence, status.Occurrence);
            _version++;
        }

        _nextLook = TimeSpan.MinValue;
    }

    /// <summary>The time for which an alarm is out of service ends by itself.</summary>
    private void EndShelf(Alarm alarm)
    {
        if (alarm.OutOfService is { } shelf && shelf.Until <= _now)
        {
            PutBack(alarm, AlarmChange.BackByItself, "");
        }
    }

    private void PutBack(Alarm alarm, AlarmChange change, string by)
    {
        alarm.TryGo(AlarmEvent.BackInService);
        (alarm.OutOfService, alarm.Acknowledged) = (null, null);
        journal.Alarm(new AlarmNote(_now, alarm.Key, change, by, "", null));
        Changed(alarm);
    }
}

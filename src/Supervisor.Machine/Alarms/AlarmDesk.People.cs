using Supervisor.Records.Alarms;

namespace Supervisor.Machine.Alarms;

/// <content>What people do with alarms.</content>
internal sealed partial class AlarmDesk
{
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

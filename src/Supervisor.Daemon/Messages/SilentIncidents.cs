using Supervisor.Configuration.Machines;
using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Supervisor.Machine.Api;
using Supervisor.Records.Alarms;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Messages;

/// <summary>Incidents whose every alarm a person took out of service: they are recorded and not told. One alarm in service is enough for the incident to be told.</summary>
/// <param name="machine">The machine.</param>
/// <param name="alarms">How the alarms stand.</param>
internal sealed class SilentIncidents(MachineDefinition machine, Func<AlarmList> alarms)
{
    public bool IsSilent(IncidentStory story)
    {
        var shelved = alarms().Alarms.Where(alarm => alarm.OutOfService is not null).Select(alarm => alarm.Key).ToHashSet();
        if (shelved.Count == 0 || story.LeftOut > 0)
        {
            return false;
        }

        var keys = story.Records.Prepend(story.Summary.Lead).Select(stored => stored.Record)
            .Where(record => record is FaultRecord { Class: not FaultClass.Warning } or AlarmRecord { IsCall: true } or NoticeRecord).Select(KeyOf).ToArray();
        return keys.Length > 0 && Array.TrueForAll(keys, key => key is { } known && shelved.Contains(known));
    }

    /// <summary>The alarm of a record; null where it is none, or of something the machine file no longer has.</summary>
    private AlarmKey? KeyOf(HistoryRecord record) => record switch
    {
        FaultRecord { Axis: { } axis } fault => Key((int)fault.Code, AlarmSourceKind.Axis, axis),
        FaultRecord { Interlock: { } interlock } fault => Key((int)fault.Code, AlarmSourceKind.Interlock, interlock),
        FaultRecord { Port: { } port } fault => Key((int)fault.Code, AlarmSourceKind.Port, port),
        FaultRecord fault => new AlarmKey((int)fault.Code, AlarmSource.Machine),
        AlarmRecord alarm => Key(alarm.Number, alarm.SourceKind, alarm.Source),
        _ => null,
    };

    private AlarmKey? Key(int number, AlarmSourceKind kind, string name)
    {
        var index = kind switch
        {
            AlarmSourceKind.Machine => -1,
            AlarmSourceKind.Axis => Found(machine.AxisIndex(name)),
            AlarmSourceKind.Port => Found(machine.PortIndex(name)),
            AlarmSourceKind.Interlock => Found(machine.Interlocks.ToList().FindIndex(interlock => interlock.Name == name)),
            _ => null,
        };
        return index is { } known ? new AlarmKey(number, new AlarmSource(kind, (short)known)) : (AlarmKey?)null;
    }

    private static int? Found(int index) => index >= 0 ? index : null;
}

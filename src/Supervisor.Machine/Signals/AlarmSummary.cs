using Supervisor.Configuration.Signals;
using Supervisor.Machine.Alarms;
using Supervisor.Records.Alarms;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Signals;

/// <summary>What lights and horn need of all alarms. One that is out of service calls nobody.</summary>
internal struct AlarmSummary
{
    /// <summary>The states that alarms make.</summary>
    public SignalStates States;

    /// <summary>Of the unacknowledged alarms of each priority or a higher one, the count that the newest occurrence had; 0: none.</summary>
    public long NewestLow;
    public long NewestMedium;
    public long NewestHigh;

    /// <summary>Takes it from all alarms that are kept.</summary>
    public static AlarmSummary Of(AlarmDesk desk)
    {
        var summary = default(AlarmSummary);
        for (var i = 0; i < desk.Kept.Count; i++)
        {
            summary.Add(desk.Kept[i]);
        }

        return summary;
    }

    /// <summary>The newest occurrence of an unacknowledged alarm of at least that priority.</summary>
    public readonly long Newest(FaultPriority from) => from switch
    {
        FaultPriority.High => NewestHigh,
        FaultPriority.Medium => NewestMedium,
        _ => NewestLow,
    };

    private void Add(Alarm alarm)
    {
        var state = alarm.State;
        if (state.IsShelved() || state == AlarmState.Normal)
        {
            return;
        }

        if (state.IsActive() || state.IsLatched())
        {
            States |= Standing(alarm.Priority);
        }

        // Its cause is gone, but only a person lets it go.
        States |= state.IsLatched() ? SignalStates.PersonNeeded : SignalStates.None;
        if (state.IsUnacknowledged())
        {
            States |= New(alarm.Priority);
            NewestLow = Math.Max(NewestLow, alarm.Told);
            NewestMedium = alarm.Priority >= FaultPriority.Medium ? Math.Max(NewestMedium, alarm.Told) : NewestMedium;
            NewestHigh = alarm.Priority >= FaultPriority.High ? Math.Max(NewestHigh, alarm.Told) : NewestHigh;
        }
    }

    private static SignalStates Standing(FaultPriority priority) => priority switch
    {
        FaultPriority.High => SignalStates.HighAlarm,
        FaultPriority.Medium => SignalStates.MediumAlarm,
        _ => SignalStates.LowAlarm,
    };

    private static SignalStates New(FaultPriority priority) => priority switch
    {
        FaultPriority.High => SignalStates.NewHighAlarm,
        FaultPriority.Medium => SignalStates.NewMediumAlarm,
        _ => SignalStates.NewLowAlarm,
    };
}

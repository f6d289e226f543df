namespace Supervisor.Configuration.Signals;

/// <summary>States by the machine file's words.</summary>
public static class SignalStateWords
{
    /// <summary>The words of the states that are among these, in a fixed order.</summary>
    public static IEnumerable<string> Words(this SignalStates states) => SignalWords.Of(states);
}

/// <summary>States of a machine that light signal lights. Several may hold at once.</summary>
[Flags]
public enum SignalStates
{
    None = 0,

    /// <summary>An emergency stop is open or waits for its reset.</summary>
    EmergencyStop = 1,

    /// <summary>A guard or a process condition is open or waits for its reset.</summary>
    InterlockOpen = 1 << 1,

    /// <summary>An axis is faulted.</summary>
    AxisFaulted = 1 << 2,

    /// <summary>An alarm of that priority stands, acknowledged or not; one that is out of service does not count.</summary>
    HighAlarm = 1 << 3,
    MediumAlarm = 1 << 4,
    LowAlarm = 1 << 5,

    /// <summary>An alarm of that priority waits to be acknowledged.</summary>
    NewHighAlarm = 1 << 6,
    NewMediumAlarm = 1 << 7,
    NewLowAlarm = 1 << 8,

    /// <summary>Something waits for a person: an interlock that has closed for its reset, a stopped axis for its release, a latched alarm for its reset.</summary>
    PersonNeeded = 1 << 9,

    /// <summary>Every axis is Ready and nothing forbids motion.</summary>
    Ready = 1 << 10,

    /// <summary>An axis moves or is homed.</summary>
    Moving = 1 << 11,

    /// <summary>The machine is in that mode.</summary>
    Production = 1 << 12,
    Maintenance = 1 << 13,
    Manual = 1 << 14,

    /// <summary>The supervisor runs.</summary>
    Always = 1 << 15,
}

namespace Supervisor.Records.Alarms;

/// <summary>Where an alarm stands, after the alarm states of ISA-18.2 and IEC 62682.</summary>
/// <remarks>
/// Numbers are stored: append, never renumber. Shelved, which people here call out of service for a limited time, is one state of the standard;
/// it is three here, so that what happens meanwhile is known when it is over.
/// </remarks>
public enum AlarmState : byte
{
    /// <summary>Nothing is wrong.</summary>
    Normal = 0,

    /// <summary>Its condition stands and nobody has said that they know.</summary>
    UnacknowledgedActive = 1,

    /// <summary>Its condition stands and somebody knows.</summary>
    AcknowledgedActive = 2,

    /// <summary>Its condition is gone before anybody said that they know.</summary>
    ReturnedUnacknowledged = 3,

    /// <summary>Its condition is gone, it waits for its reset, and nobody has said that they know.</summary>
    LatchedUnacknowledged = 4,

    /// <summary>Its condition is gone and it waits for its reset.</summary>
    LatchedAcknowledged = 5,

    /// <summary>Out of service, and nothing is wrong.</summary>
    ShelvedNormal = 6,

    /// <summary>Out of service while its condition stands.</summary>
    ShelvedActive = 7,

    /// <summary>Out of service while it waits for its reset.</summary>
    ShelvedLatched = 8,
}

/// <summary>What may happen to an alarm.</summary>
public enum AlarmEvent : byte
{
    /// <summary>Its condition begins, or is told anew while it stands.</summary>
    Occurs = 0,

    /// <summary>Its condition ends, and nothing is left of it.</summary>
    Clears = 1,

    /// <summary>Its condition ends, and what it has latched waits for a reset.</summary>
    ClearsLatched = 2,

    /// <summary>A person says that they know.</summary>
    Acknowledged = 3,

    /// <summary>What it had latched is reset.</summary>
    Reset = 4,

    /// <summary>A person takes it out of service for a limited time (the standard's shelving).</summary>
    TakenOutOfService = 5,

    /// <summary>That time is over, or a person has ended it.</summary>
    BackInService = 6,
}

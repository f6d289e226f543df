namespace Supervisor.Records.Alarms;

/// <summary>What is recorded of an alarm's life. A fault of the catalogue is recorded as such when it occurs.</summary>
/// <remarks>Numbers are stored: append, never renumber.</remarks>
public enum AlarmChange : byte
{
    None = 0,

    /// <summary>The condition of an alarm of the machine file began.</summary>
    Raised = 1,

    /// <summary>The condition of an alarm of the machine file ended.</summary>
    Cleared = 2,

    /// <summary>A person said that they know.</summary>
    Acknowledged = 3,

    /// <summary>A person took it out of service for a limited time.</summary>
    OutOfService = 4,

    /// <summary>A person put it back into service.</summary>
    BackInService = 5,

    /// <summary>The time for which it was out of service is over.</summary>
    BackByItself = 6,
}

namespace Supervisor.Records.Faults;

/// <summary>How urgent a fault is among others, for whoever sees several at once.</summary>
/// <remarks>By consequence: high is kept for what may hurt someone or drop a load after the machine has stopped, so that it stays rare.</remarks>
public enum FaultPriority : byte
{
    None = 0,

    /// <summary>The axis waits; nothing gets worse meanwhile.</summary>
    Low = 1,

    /// <summary>Something may be damaged, or what protects the machine did not work as it should.</summary>
    Medium = 2,

    /// <summary>Someone may be hurt, or a load may move although the machine stands.</summary>
    High = 3,
}

/// <summary>In what time someone should do what the catalogue says.</summary>
public enum FaultUrgency : byte
{
    None = 0,

    /// <summary>Before the machine goes on.</summary>
    Now = 1,

    /// <summary>The machine may go on after a reset; before the shift ends.</summary>
    ThisShift = 2,

    /// <summary>At the next planned maintenance.</summary>
    Planned = 3,
}

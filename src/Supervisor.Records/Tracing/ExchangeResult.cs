namespace Supervisor.Records.Tracing;

/// <summary>How the exchange of a cycle went.</summary>
/// <remarks>Numbers are stored: append, never renumber.</remarks>
public enum ExchangeResult : byte
{
    /// <summary>Not known, as in samples of a later version's kinds.</summary>
    None = 0,

    /// <summary>The feedback is new.</summary>
    Good = 1,

    /// <summary>No reply in time, all repeats included.</summary>
    NoReply = 2,

    /// <summary>Bytes came that were no valid reply.</summary>
    Garbled = 3,

    /// <summary>The drive answered that it does not give it.</summary>
    Refused = 4,

    /// <summary>The device behind the line is gone.</summary>
    LinkGone = 5,
}

/// <summary>What is yes or no in a sample.</summary>
/// <remarks>Numbers are stored: append, never renumber.</remarks>
[Flags]
public enum TraceFlags : byte
{
    None = 0,

    /// <summary>First contact was made and the drive answers.</summary>
    Online = 1,

    /// <summary>The drive says torque is on.</summary>
    TorqueOn = 2,

    /// <summary>A zero is known.</summary>
    Referenced = 4,

    /// <summary>The drive says it is in fault.</summary>
    DriveFault = 8,
}

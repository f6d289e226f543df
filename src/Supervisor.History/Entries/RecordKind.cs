namespace Supervisor.History.Entries;

/// <summary>What a record tells.</summary>
/// <remarks>Numbers are stored: append, never renumber.</remarks>
public enum RecordKind : byte
{
    /// <summary>The supervisor started.</summary>
    Start = 1,

    /// <summary>The supervisor ended in order.</summary>
    End = 2,

    /// <summary>A fault was latched.</summary>
    Fault = 3,

    /// <summary>An interlock opened, tripped, closed or was reset.</summary>
    Interlock = 4,

    /// <summary>An axis was brought back without a person, or could not be.</summary>
    Recovery = 5,

    /// <summary>A port or a drive was lost or came back.</summary>
    Link = 6,

    /// <summary>A command worth keeping, such as a refused one.</summary>
    Command = 7,

    /// <summary>The history speaks of itself: records lost, a damaged file set aside, a disk that failed.</summary>
    Notice = 8,

    /// <summary>An axis was stopped, as measured.</summary>
    Stop = 9,

    /// <summary>A drive's communication time-out was provoked, and what the drive did.</summary>
    TimeoutProof = 10,

    /// <summary>A faulted axis came back.</summary>
    Return = 11,

    /// <summary>A drive's parameter was changed.</summary>
    Parameter = 12,

    /// <summary>Samples of every axis were kept around something that happened.</summary>
    Recording = 13,

    /// <summary>An alarm was acknowledged, taken out of service or put back, or one of the machine file was raised or cleared.</summary>
    Alarm = 14,
}

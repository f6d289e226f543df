using Supervisor.Machine.Alarms;
using Supervisor.Records.Alarms;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Api;

/// <summary>One alarm, for faces: an immutable copy. Times are monotonic.</summary>
/// <param name="Key">Its number and what it is about.</param>
/// <param name="State">Where it stands.</param>
/// <param name="Priority">How urgent it is among others.</param>
/// <param name="Since">Since when it stands, or stood before it returned.</param>
/// <param name="LastAt">When its condition was last told.</param>
/// <param name="Occurrences">How often it was told since it was last normal.</param>
public sealed record AlarmStatus(AlarmKey Key, AlarmState State, FaultPriority Priority, TimeSpan Since, TimeSpan LastAt, long Occurrences)
{
    /// <summary>Which occurrence of any alarm its last one was: names what a person has seen.</summary>
    public long Occurrence { get; init; }

    /// <summary>What it is about beyond its number; may be empty.</summary>
    public string Detail { get; init; } = "";

    /// <summary>Its end needs a reset, which is no acknowledgement.</summary>
    public bool IsLatching { get; init; }

    /// <summary>When its condition ended; null while it stands.</summary>
    public TimeSpan? ReturnedAt { get; init; }

    /// <summary>Who acknowledged it; null while nobody has.</summary>
    public PersonsAct? Acknowledged { get; init; }

    /// <summary>Who took it out of service, why and until when; null while it is in service.</summary>
    public OutOfService? OutOfService { get; init; }

    /// <summary>It comes and goes: more than 3 times a minute, until at most once a minute.</summary>
    public bool IsChattering { get; init; }

    /// <summary>It has stood for more than 24 hours.</summary>
    public bool IsStale { get; init; }
}

/// <summary>All alarms that are not normal, and those that chatter: an immutable copy.</summary>
/// <param name="Version">Rises with every change.</param>
/// <param name="Alarms">The gravest first: unacknowledged before acknowledged, high priority before low, the newest before older ones; out of service last.</param>
/// <param name="NotKept">How many were not kept since the start, because more stood than are kept; the history has them.</param>
public sealed record AlarmList(long Version, IReadOnlyList<AlarmStatus> Alarms, long NotKept)
{
    /// <summary>Nothing.</summary>
    public static AlarmList Empty { get; } = new(0, [], 0);
}

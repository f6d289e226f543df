using static Supervisor.Records.Alarms.AlarmEvent;
using static Supervisor.Records.Alarms.AlarmState;

namespace Supervisor.Records.Alarms;

/// <summary>
/// The life of an alarm as one table, after the state transition diagram of ISA-18.2 and IEC 62682. A reset is no acknowledgement and an
/// acknowledgement no reset: either alone leaves the alarm listed.
/// </summary>
/// <remarks>
/// Two states of the standard are left out: suppressed by design, as nothing here suppresses alarms by logic, and out of service without end, as
/// nothing may be forgotten that way.
/// </remarks>
public static class AlarmTable
{
    private static readonly (AlarmState From, AlarmEvent Event, AlarmState To)[] Rows =
    [
        (Normal,                 Occurs,            UnacknowledgedActive),
        (Normal,                 TakenOutOfService, ShelvedNormal),

        (UnacknowledgedActive,   Occurs,            UnacknowledgedActive),
        (UnacknowledgedActive,   Acknowledged,      AcknowledgedActive),
        (UnacknowledgedActive,   Clears,            ReturnedUnacknowledged),
        (UnacknowledgedActive,   ClearsLatched,     LatchedUnacknowledged),
        (UnacknowledgedActive,   TakenOutOfService, ShelvedActive),

        (AcknowledgedActive,     Occurs,            UnacknowledgedActive),
        (AcknowledgedActive,     Clears,            Normal),
        (AcknowledgedActive,     ClearsLatched,     LatchedAcknowledged),
        (AcknowledgedActive,     TakenOutOfService, ShelvedActive),

        (ReturnedUnacknowledged, Occurs,            UnacknowledgedActive),
        (ReturnedUnacknowledged, Acknowledged,      Normal),
        (ReturnedUnacknowledged, TakenOutOfService, ShelvedNormal),

        (LatchedUnacknowledged,  Occurs,            UnacknowledgedActive),
        (LatchedUnacknowledged,  Acknowledged,      LatchedAcknowledged),
        (LatchedUnacknowledged,  Reset,             ReturnedUnacknowledged),
        (LatchedUnacknowledged,  TakenOutOfService, ShelvedLatched),

        (LatchedAcknowledged,    Occurs,            UnacknowledgedActive),
        (LatchedAcknowledged,    Reset,             Normal),
        (LatchedAcknowledged,    TakenOutOfService, ShelvedLatched),

        (ShelvedNormal,          Occurs,            ShelvedActive),
        (ShelvedNormal,          TakenOutOfService, ShelvedNormal),
        (ShelvedNormal,          BackInService,     Normal),

        (ShelvedActive,          Occurs,            ShelvedActive),
        (ShelvedActive,          Clears,            ShelvedNormal),
        (ShelvedActive,          ClearsLatched,     ShelvedLatched),
        (ShelvedActive,          TakenOutOfService, ShelvedActive),
        (ShelvedActive,          BackInService,     UnacknowledgedActive),

        (ShelvedLatched,         Occurs,            ShelvedActive),
        (ShelvedLatched,         Reset,             ShelvedNormal),
        (ShelvedLatched,         TakenOutOfService, ShelvedLatched),
        (ShelvedLatched,         BackInService,     LatchedUnacknowledged),
    ];

    private static readonly AlarmState?[,] Next = Fill();

    /// <summary>Where an event leads; null where it means nothing in that state.</summary>
    public static AlarmState? After(AlarmState state, AlarmEvent @event) => Next[(int)state, (int)@event];

    /// <summary>Its condition stands.</summary>
    public static bool IsActive(this AlarmState state) => state is UnacknowledgedActive or AcknowledgedActive or ShelvedActive;

    /// <summary>Its condition is gone and what it has latched waits for a reset.</summary>
    public static bool IsLatched(this AlarmState state) => state is LatchedUnacknowledged or LatchedAcknowledged or ShelvedLatched;

    /// <summary>A person is asked to say that they know.</summary>
    public static bool IsUnacknowledged(this AlarmState state) => state is UnacknowledgedActive or ReturnedUnacknowledged or LatchedUnacknowledged;

    /// <summary>Out of service for a limited time: it calls nobody, and is recorded all the same.</summary>
    public static bool IsShelved(this AlarmState state) => state is ShelvedNormal or ShelvedActive or ShelvedLatched;

    private static AlarmState?[,] Fill()
    {
        var next = new AlarmState?[Enum.GetValues<AlarmState>().Length, Enum.GetValues<AlarmEvent>().Length];
        foreach (var (from, @event, to) in Rows)
        {
            if (next[(int)from, (int)@event] is not null)
            {
                throw new InvalidOperationException($"The table has two rows for {from} and {@event}.");
            }

            next[(int)from, (int)@event] = to;
        }

        return next;
    }
}

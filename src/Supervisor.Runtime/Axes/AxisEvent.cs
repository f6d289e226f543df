namespace Supervisor.Runtime.Axes;

/// <summary>What can happen to an axis.</summary>
public enum AxisEvent : byte
{
    /// <summary>First contact is complete.</summary>
    Contacted = 0,
    EnableGiven = 1,
    DisableGiven = 2,
    HomeGiven = 3,
    MoveGiven = 4,
    ResetGiven = 5,

    /// <summary>Somebody asked this axis to stop or to halt.</summary>
    StopRequested = 6,

    /// <summary>A cause of stop category 0, 1 or 2 (IEC 60204-1, 9.2.2) tripped.</summary>
    Category0 = 7,
    Category1 = 8,
    Category2 = 9,

    /// <summary>The drive has been brought to the goal of the node.</summary>
    GoalReached = 10,
    GoalFailed = 11,

    /// <summary>In the window for the dwell, or the torque of a contact move is met.</summary>
    Arrived = 12,

    /// <summary>A contact move came to its end without contact.</summary>
    Missed = 13,

    /// <summary>The stop is confirmed on the wire and the axis stands.</summary>
    AtRest = 14,

    /// <summary>The drive says torque is off.</summary>
    TorqueOff = 15,
    DeadlinePassed = 16,
    FaultSeen = 17,
    JogGiven = 18,

    /// <summary>The press ended.</summary>
    JogReleased = 19,

    /// <summary>The enabling input opened or fell silent.</summary>
    EnablingOpened = 20,
    ProofGiven = 21,

    /// <summary>The brake held, and the motor no longer pushes against it.</summary>
    ProofPassed = 22,

    /// <summary>The brake held, but the motor did not leave off pushing.</summary>
    ProofUnrelieved = 23,

    /// <summary>The brake failed its proof, and gravity pulls at the axis.</summary>
    ProofFailedUnderLoad = 24,

    /// <summary>A person says that the load is supported.</summary>
    SupportGiven = 25,
}

namespace Supervisor.Scenarios.Exploration;

/// <summary>One thing that happens to the composition.</summary>
internal enum Turn : byte
{
    // A cycle of the exchange, by what the drive does in it: the numbers of DriveTurn.
    Act = 0,
    Lag = 1,
    Finish = 2,
    FailHoming = 3,
    Trip = 4,
    LoseTorque = 5,
    Jam = 6,
    Stick = 7,
    Restart = 8,
    RefuseReset = 9,
    HoldAfterQuickStop = 10,

    /// <summary>Met again, it is another drive than before.</summary>
    BeAnother = 11,

    /// <summary>The end of a contact move without contact.</summary>
    Miss = 12,

    /// <summary>No answer for longer than the link is trusted.</summary>
    FallSilent = 13,

    /// <summary>A restart shows in the drive's uptime.</summary>
    NoticeRestart = 14,

    /// <summary>A silent drive answers: its first frame is the stop.</summary>
    Answer = 15,

    Category0 = 20,
    Category1 = 21,
    Category2 = 22,

    /// <summary>A person resets the interlocks and releases the axis from its stops.</summary>
    ResetInterlocks = 23,

    /// <summary>Somebody asks for a stop: it locks the axis until it is released.</summary>
    Stop = 24,
    TakeAuthority = 25,
    LoseAuthority = 26,

    /// <summary>Supervision finds the axis where it must not be, or the drive rejects what is written to it.</summary>
    FindFault = 27,

    /// <summary>Between two exchanges, the drive does what the last word said: nobody has seen it yet.</summary>
    ActUnseen = 28,

    /// <summary>Somebody asks for a halt: a new move may follow.</summary>
    Halt = 29,

    /// <summary>The brake gave way, or the torque never came, and a load hangs on the axis.</summary>
    FailProof = 17,

    /// <summary>The brake held, and the torque went back.</summary>
    PassProof = 18,

    /// <summary>The brake held, but the torque did not go back.</summary>
    LeaveUnrelieved = 19,

    GiveEnable = 30,
    GiveDisable = 31,
    GiveHome = 32,
    GiveMove = 33,
    GiveContact = 34,
    GiveReset = 35,
    GiveJog = 36,
    GiveProof = 37,

    /// <summary>The press of a jog ends.</summary>
    ReleaseJog = 38,

    /// <summary>The enabling input opens in a jog.</summary>
    OpenEnabling = 39,

    BeginRecovery = 40,
    RecoverReset = 41,
    RecoverEnable = 42,
    RecoverHome = 43,
    GiveUpRecovery = 44,

    /// <summary>A person says that the load is supported.</summary>
    GiveSupport = 45,
}

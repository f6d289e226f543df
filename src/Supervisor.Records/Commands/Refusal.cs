namespace Supervisor.Records.Commands;

/// <summary>Why a command was not begun, or was replaced.</summary>
/// <remarks>Numbers are stored and become the reason of an API error: append, never renumber.</remarks>
public enum Refusal : ushort
{
    None = 0,
    UnknownAxis = 1,
    NoAuthority = 2,
    AuthorityHeldByAnother = 3,
    MailboxFull = 4,
    ShuttingDown = 5,
    InterlockOpen = 10,
    InterlockNeedsReset = 11,
    InterlockResetElsewhere = 12,
    NotEnabled = 20,
    NotReferenced = 21,
    AxisFaulted = 22,
    AxisBusy = 23,
    AxisOffline = 24,
    NotFaulted = 25,
    CauseStillPresent = 26,

    /// <summary>The drive's parameters are being read, written or compared.</summary>
    ParametersInUse = 27,

    /// <summary>Parameters are read and written only while the axis is disabled, or faulted, and its torque is off.</summary>
    NotDisabled = 28,

    /// <summary>The drive's parameters are not those the machine file fixes, or a set was loaded only in part.</summary>
    ParametersDiffer = 29,
    PositionLimit = 30,
    VelocityLimit = 31,
    TorqueLimit = 32,
    NoHoming = 33,
    NotSupportedByDrive = 34,
    InvalidArgument = 35,
    GroupMemberFaulted = 36,

    /// <summary>An acceleration or deceleration is above its limit.</summary>
    AccelerationLimit = 37,

    /// <summary>Another move waits for the running one already.</summary>
    AlreadyWaiting = 38,
    Stopped = 40,
    InterlockTripped = 41,
    ReplacedByCommand = 42,
    AuthorityLost = 43,

    /// <summary>The axis was stopped and has not been released.</summary>
    StopLocked = 44,

    /// <summary>The jog's press was not refreshed in time.</summary>
    JogLapsed = 45,

    /// <summary>The jog's press had ended: it never moves again.</summary>
    JogEnded = 46,

    /// <summary>The enabling input is open or silent.</summary>
    EnablingInputOpen = 47,

    /// <summary>What must stay clear of an axis while it is homed is not proven clear.</summary>
    NotClearToHome = 50,

    /// <summary>A person must confirm the command.</summary>
    NeedsConfirmation = 51,

    /// <summary>The axis's brake must be proven first.</summary>
    BrakeProofDue = 52,

    /// <summary>The machine file gives the axis no proof of its brake.</summary>
    NoBrakeProof = 53,

    /// <summary>The motor does not hold a load alone, so that none is to be supported.</summary>
    NoHeldLoad = 54,

    /// <summary>The mode the machine is in does not permit it.</summary>
    NotInThisMode = 60,

    /// <summary>In a zone of the machine file the other axis is, or is going, where the two may collide, or does not know its place.</summary>
    ZoneNotClear = 61,

    /// <summary>The output is held by a stop, a disabled or a faulted axis.</summary>
    OutputHeld = 62,

    /// <summary>Power-enable and alive are set by the supervisor alone.</summary>
    OutputNotByHand = 63,

    /// <summary>The place of the output does not answer.</summary>
    OutputSilent = 64,

    /// <summary>The drives' power is off: a person switches it on first.</summary>
    PowerOff = 65,

    /// <summary>The power-enable is faulted and waits for its reset.</summary>
    PowerFaulted = 66,

    /// <summary>The contactor's mirror contact is silent, so that it is not proven open.</summary>
    PowerUnproven = 67,

    /// <summary>The machine file has no power-enable.</summary>
    NoPowerEnable = 68,

    /// <summary>No output has this name.</summary>
    UnknownOutput = 69,

    /// <summary>The drive definition declares no communication time-out.</summary>
    NoCommunicationTimeout = 75,

    /// <summary>Others rely on what the drive tells or sets, so that it can't be left unasked.</summary>
    DriveIsNeeded = 76,

    /// <summary>An axis of the same group or zone has torque and must have none.</summary>
    CompanionEnergised = 77,

    /// <summary>No alarm is listed that way, or there is none of that number or about that.</summary>
    UnknownAlarm = 78,

    /// <summary>The alarm has occurred again since it was seen.</summary>
    AlarmChanged = 79,

    /// <summary>The alarm may not be out of service for so long.</summary>
    OutOfServiceTooLong = 80,

    /// <summary>The alarm is out of service.</summary>
    AlarmOutOfService = 81,

    /// <summary>The alarm is in service.</summary>
    AlarmInService = 82,
}

namespace Supervisor.Records.Faults;

/// <summary>What went wrong, as the supervisor names it. The drive's own number is kept beside it.</summary>
/// <remarks>Numbers are stored: append, never renumber. Blocks: 1xx line, 2xx drive, 3xx supervision, 4xx stops and interlocks, 5xx daemon.
/// A jog that is no longer refreshed stops its axis; that is how a jog ends, and no fault.</remarks>
public enum FaultCode : ushort
{
    None = 0,

    /// <summary>The drive stopped answering, or its port is gone.</summary>
    LinkLost = 101,

    /// <summary>The drive answers with exceptions to a request it must serve.</summary>
    RequestRejected = 102,

    /// <summary>The drive's own communication time-out stopped it.</summary>
    DriveCommunicationTimeout = 103,

    /// <summary>The drive started anew on its own.</summary>
    DriveRestarted = 104,

    /// <summary>Another drive than the one that was referenced answers.</summary>
    WrongIdentity = 105,

    /// <summary>A warning: more exchanges with a drive fail than its port's errorRate lets pass.</summary>
    DriveErrorsFrequent = 110,

    /// <summary>So many exchanges with a drive fail that it can't be relied on.</summary>
    DriveErrorsTooMany = 111,

    /// <summary>A warning: more exchanges of a whole port fail than its errorRate lets pass.</summary>
    LineErrorsFrequent = 112,

    /// <summary>So many exchanges of a whole port fail that none of its axes can be relied on.</summary>
    LineErrorsTooMany = 113,

    /// <summary>A warning: a port's adapter hears what it sends, so that no exchange on it is answered.</summary>
    AdapterHearsItself = 114,

    DriveFault = 201,
    OverCurrent = 202,
    ShortCircuit = 203,
    OverVoltage = 204,
    UnderVoltage = 205,
    OverTemperature = 206,
    Encoder = 207,
    MotorBlocked = 208,
    DriveFollowingError = 209,

    /// <summary>The drive reports a fault of the holding brake or its output.</summary>
    Brake = 210,

    /// <summary>The battery of an absolute encoder is empty: its zero is no longer proven.</summary>
    EncoderBattery = 211,

    FollowingError = 301,
    MoveTimeout = 302,
    EnergisingTimeout = 303,
    HomingTimeout = 304,
    HomingFailed = 305,
    StandstillLost = 306,
    TorqueLostUnexpectedly = 307,
    SoftLimitPassed = 308,
    ContactMissing = 309,
    TorqueLimitUnverified = 310,

    /// <summary>The axis moved although its closed brake should have held it.</summary>
    BrakeSlip = 311,

    /// <summary>The axis moved between its coming to rest and the end of the time its brake has to take the load over; later it is a <see cref="BrakeSlip"/>.</summary>
    StandstillLostOnBrake = 312,

    /// <summary>The closed brake gave way to the torque of its proof, or the proof could not be made.</summary>
    BrakeProofFailed = 313,

    /// <summary>A contact move met something before the range in which it was expected.</summary>
    ContactTooEarly = 314,

    /// <summary>The axis went farther than its homing may.</summary>
    HomingDistanceExceeded = 315,

    /// <summary>A parameter in the drive is not what the machine file fixes.</summary>
    ParameterDiffers = 316,

    /// <summary>A warning: the motor is near the load at which its drive trips. Nothing stops.</summary>
    HeatingWarning = 317,

    /// <summary>What must stay clear of an axis while it is homed no longer was.</summary>
    HomingNotClear = 318,

    /// <summary>A warning: the interval in which the machine file wants the brake proven has passed.</summary>
    BrakeProofOverdue = 319,

    /// <summary>A warning: a parameter in the drive was not what the machine file fixes, and was written or left as the file says.</summary>
    ParameterFoundDifferent = 322,

    /// <summary>A set of parameters was loaded into the drive only in part.</summary>
    ParametersIncomplete = 323,

    /// <summary>The brake was opened, but the motor does not show the torque of the load.</summary>
    LoadNotCarried = 324,

    StopFailed = 401,
    ChannelDiscrepancy = 402,

    /// <summary>A warning: the axis needs longer to stop than when it was commissioned.</summary>
    StopsLonger = 403,

    /// <summary>An axis moved where a zone of the machine file forbids it: two axes were about to collide.</summary>
    ZoneEntered = 410,

    /// <summary>The other axis of a zone no longer told where it is while this one moved.</summary>
    ZoneUnproven = 411,

    /// <summary>The contactor's mirror contact did not close after switching off, or was open while off.</summary>
    ContactorWelded = 420,

    /// <summary>The contactor's mirror contact did not open after switching on, or fell silent.</summary>
    ContactorMissing = 421,

    /// <summary>The contactor opened while it should have stayed closed, and no emergency stop or guard explains it.</summary>
    ContactorFell = 422,

    /// <summary>A warning: an output is not confirmed at the level it was given.</summary>
    OutputNotConfirmed = 423,

    /// <summary>A warning: an output changed that nobody here had changed.</summary>
    OutputChanged = 424,

    /// <summary>A warning: the alive output does not toggle.</summary>
    AliveStopped = 425,

    /// <summary>A stop failed, so the drives' power was taken by the power-enable output.</summary>
    PowerDropped = 426,

    /// <summary>A warning: a module does not answer. Its inputs count as open, its outputs as not known.</summary>
    ModuleLost = 430,

    /// <summary>A warning: a module's outputs or its communication time-out were found otherwise than they were left.</summary>
    ModuleRestarted = 431,

    /// <summary>A warning: a module does not take its communication time-out, so none of its outputs is set.</summary>
    ModuleTimeoutUnverified = 432,

    /// <summary>A warning: a module answers a request with an exception.</summary>
    ModuleRefuses = 433,

    /// <summary>A warning: an output of a module is not what it was set to.</summary>
    ModuleOutputNotTaken = 434,

    /// <summary>A warning: more exchanges with a module fail than its port's errorRate lets pass.</summary>
    ModuleErrorsFrequent = 435,

    /// <summary>So many exchanges with a module fail that its inputs can't be relied on and count as open.</summary>
    ModuleErrorsTooMany = 436,

    /// <summary>A motor was found holding a load alone whose brake failed its proof in an earlier run.</summary>
    LoadHeldByTorque = 440,

    /// <summary>The motor that held a load alone lost its torque, and nobody here had taken it.</summary>
    HeldLoadReleased = 441,

    /// <summary>Left unasked on purpose, a drive did not stop by its communication time-out as its definition says.</summary>
    CommunicationTimeoutFailed = 445,

    PortThreadEnded = 501,
}

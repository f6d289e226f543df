namespace Supervisor.Simulation.Drives;

/// <summary>Error codes a simulated drive raises by itself; numbers as in CiA 402 object 603Fh.</summary>
public static class DriveErrors
{
    /// <summary>Continuous over-current.</summary>
    public const ushort OverCurrent = 0x2310;

    /// <summary>Short circuit.</summary>
    public const ushort ShortCircuit = 0x2320;

    /// <summary>Parameter.</summary>
    public const ushort Parameter = 0x6320;

    /// <summary>Motor blocked.</summary>
    public const ushort MotorBlocked = 0x7121;

    /// <summary>Incremental encoder.</summary>
    public const ushort Encoder = 0x7305;

    /// <summary>Communication time-out (life guard or heartbeat).</summary>
    public const ushort Communication = 0x8130;

    /// <summary>Following error.</summary>
    public const ushort FollowingError = 0x8611;

    /// <summary>True for faults after which the drive can't brake in order and takes torque away at once.</summary>
    public static bool CutsTorque(ushort code) => code is OverCurrent or ShortCircuit or Encoder;
}

namespace Supervisor.Drives;

/// <summary>What a drive says of itself, whatever its coding.</summary>
[Flags]
public enum DriveFlags : ushort
{
    None = 0,

    /// <summary>Torque is on.</summary>
    Powered = 1,

    /// <summary>The drive is in fault, or reacting to one.</summary>
    Fault = 2,

    /// <summary>The drive says the target is reached.</summary>
    InPosition = 4,

    /// <summary>The drive says it knows its zero.</summary>
    Referenced = 8,

    /// <summary>The drive says it moves.</summary>
    Moving = 16,

    /// <summary>A quick stop is active.</summary>
    QuickStop = 32,

    /// <summary>The drive has taken the new set-point.</summary>
    SetpointTaken = 64,

    /// <summary>The drive's homing reports an error.</summary>
    HomingError = 128,

    /// <summary>The drive is in the mode that was asked for, or does not tell its mode.</summary>
    ModeConfirmed = 256,

    /// <summary>The drive acknowledges the bit that starts a move.</summary>
    GoAcknowledged = 512,

    /// <summary>The drive acknowledges the bit that starts its homing.</summary>
    ReferenceAcknowledged = 1024,

    /// <summary>The drive acknowledges the bit that clears its fault.</summary>
    ClearAcknowledged = 2048,

    /// <summary>The drive takes no command but a stop until it is unlocked.</summary>
    Locked = 4096,
}

/// <summary>Feedback of one exchange, decoded. Velocities in counts/s of the drive.</summary>
public struct DriveFeedback
{
    public DriveFlags Flags;

    /// <summary>The drive's state in the meaning of its coding (a <see cref="Coding.Cia402State"/>; 0 for bit codings).</summary>
    public byte CodedState;

    /// <summary>Position counter as it stands in its register, not scaled, wrapping at its width.</summary>
    public long PositionRaw;

    /// <summary>The drive says that it does not know its position: <see cref="PositionRaw"/> means nothing then.</summary>
    public bool IsPositionUnknown;

    /// <summary>Counts/s; NaN when the drive does not report a velocity.</summary>
    public double VelocityCounts;

    /// <summary>Percent of rated; NaN when the drive does not report a torque.</summary>
    public double TorquePercent;

    /// <summary>Counts; NaN when the drive does not report a following error.</summary>
    public double FollowingErrorCounts;

    /// <summary>The drive's own fault number, 0 when none.</summary>
    public ushort ErrorCode;

    /// <summary>Bit i: the i-th input of the definition.</summary>
    public uint Inputs;

    public readonly bool Has(DriveFlags flag) => (Flags & flag) == flag;
}

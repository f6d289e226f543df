namespace Supervisor.Configuration.Drives;

/// <summary>Names by which the program looks fields up. A definition may have others, for the bits in them.</summary>
public static class FieldNames
{
    public const string Statusword = "statusword";
    public const string Position = "position";
    public const string Velocity = "velocity";
    public const string Torque = "torque";
    public const string ErrorCode = "errorCode";
    public const string FollowingError = "followingError";

    /// <summary>Feedback: the mode the drive is in; a mode is then confirmed before anything relies on it.</summary>
    public const string ModeDisplay = "modeDisplay";

    public const string Controlword = "controlword";
    public const string Mode = "mode";
    public const string TargetPosition = "targetPosition";
    public const string ProfileVelocity = "profileVelocity";
    public const string ProfileAcceleration = "profileAcceleration";
    public const string ProfileDeceleration = "profileDeceleration";
    public const string TorqueLimit = "torqueLimit";

    /// <summary>Command: ramp at a move's start as a time, ms; see <see cref="RampTimesDefinition"/>.</summary>
    public const string AccelerationTime = "accelerationTime";

    /// <summary>Command: ramp at a move's end and of a halt as a time, ms.</summary>
    public const string DecelerationTime = "decelerationTime";

    /// <summary>Parameter: silence in ms after which the drive stops by itself.</summary>
    public const string CommunicationTimeout = "communicationTimeout";

    /// <summary>Parameter: time in ms since the drive started.</summary>
    public const string Uptime = "uptime";

    /// <summary>Parameter: number of this very drive.</summary>
    public const string SerialNumber = "serialNumber";

    /// <summary>Parameter: number of its kind, as the maker counts.</summary>
    public const string Model = "model";

    /// <summary>Parameter: version of the program in it, as its register tells it.</summary>
    public const string FirmwareVersion = "firmwareVersion";

    /// <summary>Parameter: not 0 while the drive knows its zero.</summary>
    public const string Homed = "homed";

    /// <summary>Parameter: homing method number of CiA 402.</summary>
    public const string HomingMethod = "homingMethod";

    /// <summary>Parameter: counts/s towards the switch.</summary>
    public const string HomingSpeedFast = "homingSpeedFast";

    /// <summary>Parameter: counts/s away from or onto the switch.</summary>
    public const string HomingSpeedSlow = "homingSpeedSlow";

    /// <summary>Parameter: counts/s².</summary>
    public const string HomingAcceleration = "homingAcceleration";

    /// <summary>Parameter: position of the found zero, counts.</summary>
    public const string HomeOffset = "homeOffset";
}

namespace Supervisor.Records.Faults;

/// <summary>
/// Error codes of object 603Fh. Exact codes first, then the group its leading digits name. The exact codes stand in the
/// object tables of general-purpose CiA 402 stacks; the groups (2xxx current, 3xxx voltage, 4xxx temperature, 73xx sensors,
/// 75xx and 81xx communication; a third digit of 1 for too high and 2 for too low) are from memory of CiA 301 and CiA 402.
/// </summary>
/// <remarks>Where a code fits two names the one that is never recovered by itself is taken.</remarks>
internal static class Cia402ErrorCodes
{
    private const int TooHigh = 1;
    private const int TooLow = 2;

    public static FaultCode ToFaultCode(ushort errorCode) => errorCode switch
    {
        0x2310 => FaultCode.OverCurrent,               // continuous over-current
        0x2320 => FaultCode.ShortCircuit,
        0x3210 => FaultCode.OverVoltage,               // DC link
        0x3220 => FaultCode.UnderVoltage,              // DC link
        0x4210 => FaultCode.OverTemperature,           // device
        0x4310 => FaultCode.OverTemperature,           // drive
        0x5530 => FaultCode.DriveFault,                // non-volatile memory
        0x6010 => FaultCode.DriveFault,                // watchdog
        0x6320 => FaultCode.DriveFault,                // parameter
        0x7121 => FaultCode.MotorBlocked,
        0x7305 => FaultCode.Encoder,                   // incremental encoder
        0x7510 => FaultCode.DriveCommunicationTimeout, // serial interface
        0x8130 => FaultCode.DriveCommunicationTimeout, // life guard, heartbeat
        0x8311 => FaultCode.MotorBlocked,              // excess torque: something holds the axis
        0x8611 => FaultCode.DriveFollowingError,
        0x8612 => FaultCode.DriveFault,                // reference limit
        _ => ByGroup(errorCode),
    };

    private static FaultCode ByGroup(ushort errorCode) => (errorCode >> 12, errorCode >> 8, (errorCode >> 4) & 0xF) switch
    {
        (2, _, _) => FaultCode.OverCurrent,
        (3, _, TooHigh) => FaultCode.OverVoltage,
        (3, _, TooLow) => FaultCode.UnderVoltage,
        (4, _, not TooLow) => FaultCode.OverTemperature,
        (_, 0x73, _) => FaultCode.Encoder,
        (_, 0x75 or 0x81, _) => FaultCode.DriveCommunicationTimeout,
        _ => FaultCode.DriveFault,
    };
}

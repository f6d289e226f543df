using System.Collections.Frozen;

namespace Supervisor.Records.Faults;

/// <summary>Every fault the supervisor can name. Fixed in code; texts may change, codes and classes are part of records.</summary>
public static class FaultCatalogue
{
    private const string KeepClear = "Switch the machine off and secure it before you reach in";

    private static readonly FrozenDictionary<FaultCode, FaultEntry> ByCode = Build().ToFrozenDictionary(entry => entry.Code);

    /// <summary>All entries in the order of their numbers.</summary>
    public static IReadOnlyList<FaultEntry> Entries { get; } = [.. ByCode.Values.OrderBy(entry => entry.Code)];

    /// <summary>The entry of a code. A number this version does not know, as a newer one may have stored, gets an entry that says so.</summary>
    public static FaultEntry Entry(FaultCode code) => ByCode.TryGetValue(code, out var entry) ? entry : Unknown(code);

    /// <summary>The class of a code; <see cref="FaultClass.Grave"/> for a number this version does not know.</summary>
    public static FaultClass ClassOf(FaultCode code) => ByCode.TryGetValue(code, out var entry) ? entry.Class : FaultClass.Grave;

    /// <summary>Whether an axis with this fault may ever come back without a person; false for a number this version does not know.</summary>
    public static bool MayRecover(FaultCode code) => ByCode.TryGetValue(code, out var entry) && entry.MayRecover;

    /// <summary>Names a drive's CiA 402 error code (object 603Fh); 0, as from a drive that reports a fault and gives no reason, is a <see cref="FaultCode.DriveFault"/>.</summary>
    public static FaultCode FromCia402(ushort errorCode) => Cia402ErrorCodes.ToFaultCode(errorCode);

    private static FaultEntry Unknown(FaultCode code) => new(
        code, $"fault {(ushort)code}", FaultClass.Grave,
        "This version of the supervisor does not know this number; a newer one may have recorded it.",
        "Look the number up with the version that recorded it.");

    private static FaultEntry[] Build() =>
    [
        new(FaultCode.None, "no fault", FaultClass.None, "Nothing is wrong.", "Nothing is to do."),

        new(FaultCode.LinkLost, "link lost", FaultClass.Link,
            "The drive stopped answering, or its serial port is gone; it stops by its own communication time-out.",
            "Check the drive's supply, then the plug, the cable and the termination of its line."),
        new(FaultCode.RequestRejected, "request rejected", FaultClass.Drive,
            "The drive answers, but refuses a request it should serve.",
            "Compare the drive's type and parameters with its drive definition, and look up the drive's exception code."),
        new(FaultCode.DriveCommunicationTimeout, "drive communication time-out", FaultClass.Link,
            "The drive heard nothing for too long and stopped by itself.",
            "Look in the history for line errors just before, then check cable, shield and termination."),
        new(FaultCode.DriveRestarted, "drive restarted", FaultClass.Restart,
            "The drive started anew on its own; an incremental axis has lost its zero.",
            "Check the drive's control supply for drop-outs and loose terminals."),
        new(FaultCode.WrongIdentity, "wrong identity", FaultClass.Grave,
            "Another drive answers than the one this axis was set up with.",
            "If the drive was exchanged, check its parameters, reset and home the axis; otherwise check the drives' addresses."),

        new(FaultCode.DriveFault, "drive fault", FaultClass.Drive,
            "The drive reports a fault that has no name here; its own number is beside it.",
            "Look the number up in the drive's manual."),
        new(FaultCode.OverCurrent, "over-current", FaultClass.Grave,
            "The drive measured more motor current than it may carry.",
            $"{KeepClear}, then look for a jammed axis, a damaged motor cable or a motor with worn insulation."),
        new(FaultCode.ShortCircuit, "short circuit", FaultClass.Grave,
            "The drive found a short circuit or an earth fault on its motor output.",
            "Have an electrician switch off, wait for the drive's discharge time, and measure the motor cable and winding."),
        new(FaultCode.OverVoltage, "over-voltage", FaultClass.Supply,
            "The drive's supply rose above its band, most often while braking.",
            "Check the braking resistor and its fuse, then the supply, and lower the deceleration if it stays."),
        new(FaultCode.UnderVoltage, "under-voltage", FaultClass.Supply,
            "The drive's supply fell below its band.",
            "Check that the motor supply is switched on, then its fuses, phases and terminals."),
        new(FaultCode.OverTemperature, "over-temperature", FaultClass.Temperature,
            "The drive or the motor is too warm.",
            "Let it cool, clean fan and filter, and check whether the axis runs heavier than usual."),
        new(FaultCode.Encoder, "encoder", FaultClass.Grave,
            "The drive no longer trusts its position sensor, so the axis may not be where it is shown.",
            $"{KeepClear}, check the encoder's plug, cable and shield, then home the axis."),
        new(FaultCode.MotorBlocked, "motor blocked", FaultClass.Grave,
            "The motor pushes, but the axis cannot turn.",
            $"{KeepClear}, then free the axis: something may be jammed under tension and move when it comes loose."),
        new(FaultCode.DriveFollowingError, "following error (drive)", FaultClass.Following,
            "The drive found the axis too far behind its command.",
            "Look for a heavy or jammed axis and a slipping coupling, then for a torque limit or a ramp that is too tight."),
        new(FaultCode.Brake, "brake", FaultClass.Grave,
            "The drive reports a fault of the holding brake.",
            "Support the load before you go near it, then check the brake's supply, plug and wear."),

        new(FaultCode.FollowingError, "following error", FaultClass.Following,
            "The axis was too far behind its command for longer than the machine file allows.",
            "Look for a heavy or jammed axis and a slipping coupling, then for a torque limit or a ramp that is too tight."),
        new(FaultCode.MoveTimeout, "move time-out", FaultClass.TimeOut,
            "The axis did not arrive in the time its move should have taken.",
            "Look for something that holds the axis, then check the in-position window against what the drive reaches."),
        new(FaultCode.EnergisingTimeout, "energising time-out", FaultClass.TimeOut,
            "The drive did not switch its torque on in time.",
            "Check the motor supply and the drive's own enable and safe-torque-off inputs."),
        new(FaultCode.HomingTimeout, "homing time-out", FaultClass.TimeOut,
            "The axis did not find its zero in time.",
            "Check the home or limit switch and its cable, and that the axis can reach it."),
        new(FaultCode.HomingFailed, "homing failed", FaultClass.TimeOut,
            "The drive gave up looking for the axis's zero.",
            "Check the home or limit switch and the homing method in the machine file."),
        new(FaultCode.StandstillLost, "standstill lost", FaultClass.Grave,
            "The axis moved while it should have stood; a load may be sinking.",
            "Keep away from under the load, support it, then check the brake and the drive's holding torque."),
        new(FaultCode.TorqueLostUnexpectedly, "torque lost", FaultClass.Drive,
            "The drive switched its torque off though nobody asked for it.",
            "Check the safe-torque-off circuit and the motor supply, then the drive's own fault memory."),
        new(FaultCode.SoftLimitPassed, "passed a limit", FaultClass.Grave,
            "The axis is beyond its position limits.",
            "Check for damage and whether the shown position is true, reset, and move it back slowly or home it."),
        new(FaultCode.ContactMissing, "no contact", FaultClass.TimeOut,
            "A contact move reached its end without meeting anything.",
            "Check that the part is in place, and the end position and torque of the step."),
        new(FaultCode.TorqueLimitUnverified, "torque limit not verified", FaultClass.Grave,
            "The drive did not confirm the torque limit it was given, so it might push harder than it may.",
            "Check the drive definition's torque limit register and the drive's own maximum, then reset."),

        new(FaultCode.StopFailed, "stop failed", FaultClass.Grave,
            "The axis did not slow down when it was told to stop.",
            "Press the emergency stop, stay clear, and have the drive, its line and the brake checked before anyone resets."),
        new(FaultCode.ChannelDiscrepancy, "channel discrepancy", FaultClass.Grave,
            "The two channels of an interlock did not agree for too long.",
            "Have a qualified person check both contacts and their wiring before anyone resets."),

        new(FaultCode.PortThreadEnded, "port thread ended", FaultClass.Daemon,
            "The part of the supervisor that serves this port ended by an error of its own.",
            "Keep the black-box file and the log for the maker of the software; the service starts anew by itself."),
    ];
}

using static Supervisor.Records.Faults.FaultPriority;
using static Supervisor.Records.Faults.FaultUrgency;

namespace Supervisor.Records.Faults;

/// <summary>2xx: what a drive reports of itself.</summary>
internal static class DriveFaults
{
    private const string KeepClear = "Switch the machine off and secure it before you reach in";

    public static readonly FaultEntry[] Entries =
    [
        new(FaultCode.DriveFault, "drive fault", FaultClass.Drive, Low, Now,
            "The drive reports a fault that has no name here; its own number is beside it.",
            ["as the drive's manual says for its number", "the drive definition lists no such number"],
            "Look the number up in the drive's manual."),
        new(FaultCode.OverCurrent, "over-current", FaultClass.Grave, Medium, Now,
            "The drive measured more motor current than it may carry.",
            ["the axis is jammed", "the motor cable is damaged", "the motor's insulation is worn", "the current loop is badly tuned"],
            $"{KeepClear}, then look for a jammed axis, a damaged motor cable or a motor with worn insulation."),
        new(FaultCode.ShortCircuit, "short circuit", FaultClass.Grave, Medium, Now,
            "The drive found a short circuit or an earth fault on its motor output.",
            ["the motor cable is crushed or chafed", "the winding is burnt", "water or dirt is in a connector"],
            "Have an electrician switch off, wait for the drive's discharge time, and measure the motor cable and winding."),
        new(FaultCode.OverVoltage, "over-voltage", FaultClass.Supply, Low, ThisShift,
            "The drive's supply rose above its band, most often while braking.",
            ["the braking resistor or its fuse is open", "the deceleration is too steep for the load", "the mains or the supply is too high"],
            "Check the braking resistor and its fuse, then the supply, and lower the deceleration if it stays."),
        new(FaultCode.UnderVoltage, "under-voltage", FaultClass.Supply, Low, Now,
            "The drive's supply fell below its band.",
            ["the motor supply is switched off", "a fuse or a phase is missing", "the supply is too weak for all axes at once"],
            "Check that the motor supply is switched on, then its fuses, phases and terminals."),
        new(FaultCode.OverTemperature, "over-temperature", FaultClass.Temperature, Low, ThisShift,
            "The drive or the motor is too warm.",
            ["a fan or a filter is clogged", "the axis runs heavier than usual", "the cycle loads the motor beyond its rating", "the cabinet is too warm"],
            "Let it cool, clean fan and filter, and check whether the axis runs heavier than usual."),
        new(FaultCode.Encoder, "encoder", FaultClass.Grave, Medium, Now,
            "The drive no longer trusts its position sensor, so the axis may not be where it is shown.",
            ["the encoder's plug or cable is loose", "its shield is open", "the encoder is dirty or broken", "the battery of an absolute encoder is empty"],
            $"{KeepClear}, check the encoder's plug, cable and shield, then home the axis."),
        new(FaultCode.MotorBlocked, "motor blocked", FaultClass.Grave, Medium, Now,
            "The motor pushes, but the axis cannot turn.",
            ["something is jammed in the axis", "the brake did not open", "a bearing or a gear has seized", "a torque limit is too low to move it"],
            $"{KeepClear}, then free the axis: something may be jammed under tension and move when it comes loose."),
        new(FaultCode.DriveFollowingError, "following error (drive)", FaultClass.Following, Low, Now,
            "The drive found the axis too far behind its command.",
            ["the axis is heavy or jammed", "a coupling or a belt slips", "a torque limit or a ramp is too tight", "the position loop is badly tuned"],
            "Look for a heavy or jammed axis and a slipping coupling, then for a torque limit or a ramp that is too tight."),
        new(FaultCode.Brake, "brake", FaultClass.Grave, Medium, Now,
            "The drive reports a fault of the holding brake.",
            ["the brake's supply is missing", "its plug or cable is loose", "its lining is worn or its coil is burnt"],
            "Support the load before you go near it, then check the brake's supply, plug and wear."),
        new(FaultCode.EncoderBattery, "encoder battery", FaultClass.Grave, Medium, Now,
            "The battery of the absolute encoder is empty, so its zero can no longer be trusted.",
            ["the battery is used up", "the battery's plug or cable is loose", "the drive was without supply for longer than the battery lasts"],
            "Replace the battery with the drive switched on, clear the drive's alarm, then reset and home the axis."),
    ];
}

using static Supervisor.Records.Faults.FaultPriority;
using static Supervisor.Records.Faults.FaultUrgency;

namespace Supervisor.Records.Faults;

/// <summary>3xx: what the supervisor finds by watching an axis.</summary>
internal static class SupervisionFaults
{
    private static readonly FaultReaction FailsTheCommand = new(StopReaction.StopAndHold, StopReaction.None);
    private static readonly FaultReaction CutsPower = new(StopReaction.CutPower, StopReaction.StopAndHold);

    public static readonly FaultEntry[] Entries =
    [
        new(FaultCode.FollowingError, "following error", FaultClass.Following, Low, Now,
            "The axis was too far behind its command for longer than the machine file allows.",
            ["the axis is heavy or jammed", "a coupling or a belt slips", "a torque limit or a ramp is too tight", "the limit in the machine file is too tight"],
            "Look for a heavy or jammed axis and a slipping coupling, then for a torque limit or a ramp that is too tight."),
        new(FaultCode.MoveTimeout, "move time-out", FaultClass.TimeOut, Low, Now,
            "The axis did not arrive in the time its move should have taken.",
            ["something holds the axis", "the in-position window is narrower than what the drive reaches", "the drive limits speed or torque by itself"],
            "Look for something that holds the axis, then check the in-position window against what the drive reaches."),
        new(FaultCode.EnergisingTimeout, "energising time-out", FaultClass.TimeOut, Low, Now,
            "The drive did not switch its torque on in time.",
            ["the motor supply is off", "the drive's enable input is open", "its safe-torque-off input is open"],
            "Check the motor supply and the drive's own enable and safe-torque-off inputs.")
            { Reaction = CutsPower },
        new(FaultCode.HomingTimeout, "homing time-out", FaultClass.TimeOut, Low, Now,
            "The axis did not find its zero in time.",
            ["the switch does not work or is out of reach", "the homing speed is low for the way", "something holds the axis"],
            "Check the home or limit switch and its cable, and that the axis can reach it."),
        new(FaultCode.HomingFailed, "homing failed", FaultClass.TimeOut, Low, Now,
            "The drive gave up looking for the axis's zero.",
            ["the switch does not work", "the homing method does not fit the machine", "the index pulse is missing"],
            "Check the home or limit switch and the homing method in the machine file."),
        new(FaultCode.StandstillLost, "standstill lost", FaultClass.Grave, High, Now,
            "The axis moved while it should have stood; a load may be sinking.",
            ["the drive's holding torque is too low for the load", "someone or something moved the axis", "a coupling or a gear broke"],
            "Keep away from under the load, support it, then check the brake and the drive's holding torque."),
        new(FaultCode.TorqueLostUnexpectedly, "torque lost", FaultClass.Drive, Low, Now,
            "The drive switched its torque off though nobody asked for it.",
            ["the safe-torque-off circuit opened", "the motor supply dropped out", "the drive was switched off by its own panel or tool"],
            "Check the safe-torque-off circuit and the motor supply, then the drive's own fault memory."),
        new(FaultCode.SoftLimitPassed, "passed a limit", FaultClass.Grave, Medium, Now,
            "The axis is beyond its position limits.",
            ["the zero is wrong or was lost", "someone moved the axis by hand or by the drive's tool", "it could not brake in time"],
            "Check for damage and whether the shown position is true, reset, and move it back slowly or home it."),
        new(FaultCode.ContactMissing, "no contact", FaultClass.TimeOut, Low, ThisShift,
            "A contact move reached its end without meeting anything.",
            ["the part is missing or out of place", "the end position is too near", "the torque is too high to be felt"],
            "Check that the part is in place, and the end position and torque of the step.")
            { Reaction = FailsTheCommand },
        new(FaultCode.TorqueLimitUnverified, "torque limit not verified", FaultClass.Grave, Medium, Now,
            "The drive did not confirm the torque limit it was given, so it might push harder than it may.",
            ["the definition's register is not the drive's torque limit", "the drive's own maximum is lower", "the drive takes the limit only while its torque is off"],
            "Check the drive definition's torque limit register and the drive's own maximum, then reset."),
        new(FaultCode.BrakeSlip, "brake slip", FaultClass.Grave, High, Now,
            "The axis moved although its closed brake should have held it.",
            ["the brake's lining is worn, oily or wet", "the brake did not close: its output or wiring is at fault", "the load is heavier than the brake is made for"],
            "Keep away from under the load, support it, and have the brake checked before anyone resets."),
        new(FaultCode.StandstillLostOnBrake, "standstill lost on the brake", FaultClass.Grave, High, Now,
            "The axis moved while its torque went off and the brake took over.",
            ["the brake closes later than the machine file says", "the brake holds too little", "the drive takes its torque off before the brake has closed"],
            "Keep away from under the load, support it, then check the brake and its closing time in the machine file."),
        new(FaultCode.BrakeProofFailed, "brake proof failed", FaultClass.Grave, Medium, Now,
            "The closed brake gave way to the torque of its proof, or the proof could not be made.",
            ["the brake's lining is worn, oily or wet", "the brake did not close", "the torque of the proof is above what the brake is made for"],
            "Support the load, then have the brake checked; the axis stays out of use until a proof succeeds."),
        new(FaultCode.ContactTooEarly, "contact too early", FaultClass.TimeOut, Low, ThisShift,
            "A contact move met something before the range in which it was expected.",
            ["something lies in the way", "the part is too high or out of place", "the axis runs heavier than usual", "the torque is too low to move freely"],
            "Look for what is in the way and whether the axis moves freely, then check the range and torque of the step.")
            { Reaction = FailsTheCommand },
        new(FaultCode.HomingDistanceExceeded, "homing distance exceeded", FaultClass.TimeOut, Low, Now,
            "The axis went farther than its homing may without finding its zero.",
            ["the switch does not work or its cable is broken", "a coupling or a belt slips", "the distance in the machine file is too short"],
            "Check the home or limit switch and its cable, then the coupling, then the distance in the machine file."),
        new(FaultCode.ParameterDiffers, "parameter differs", FaultClass.Grave, Medium, Now,
            "A parameter in the drive is not what the machine file fixes, and the file says not to write it.",
            ["the drive was exchanged or reset to its defaults", "someone changed it with the drive's tool", "the machine file was changed"],
            "Compare the drive's parameters with the machine file, and load the axis's own set if the drive was exchanged."),
        new(FaultCode.HeatingWarning, "heating warning", FaultClass.Warning, Low, ThisShift,
            "By its torque the motor is near the heat at which its drive would trip; this is computed, not measured.",
            ["the cycle has too little rest", "the axis runs heavier than usual", "the ramps are steeper than the load needs"],
            "Give the axis rest or gentler ramps, and check whether it runs heavier than usual."),
        new(FaultCode.HomingNotClear, "homing not clear", FaultClass.Grave, Medium, Now,
            "What had to stay clear of the axis while it was homed no longer was.",
            ["something or someone moved into the way", "the axis that had to stand clear moved or lost its zero", "the sensor that proves it, or its cable, is at fault"],
            "Switch the machine off and secure it before you reach in, then see what is in the way, or why its sensor says so."),
    ];
}

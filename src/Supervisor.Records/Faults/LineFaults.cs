using static Supervisor.Records.Faults.FaultPriority;
using static Supervisor.Records.Faults.FaultUrgency;

namespace Supervisor.Records.Faults;

/// <summary>1xx: the line and who answers on it.</summary>
internal static class LineFaults
{
    public static readonly FaultEntry[] Entries =
    [
        new(FaultCode.LinkLost, "link lost", FaultClass.Link, Low, Now,
            "The drive stopped answering, or its serial port is gone; it stops by its own communication time-out.",
            ["the drive has no control supply", "plug, cable or adapter is loose", "the line is not terminated", "another device uses the same address"],
            "Check the drive's supply, then the plug, the cable and the termination of its line."),
        new(FaultCode.RequestRejected, "request rejected", FaultClass.Drive, Low, Now,
            "The drive answers, but refuses a request it should serve.",
            ["the drive definition does not fit this drive", "another firmware than the definition was written for", "the drive is locked by its own panel or tool"],
            "Compare the drive's type and parameters with its drive definition, and look up the drive's exception code."),
        new(FaultCode.DriveCommunicationTimeout, "drive communication time-out", FaultClass.Link, Low, ThisShift,
            "The drive heard nothing for too long and stopped by itself.",
            ["the line is disturbed or its shield is open", "the supervisor or its board was restarted", "the time-out is short for this line's cycle"],
            "Look in the history for line errors just before, then check cable, shield and termination."),
        new(FaultCode.DriveRestarted, "drive restarted", FaultClass.Restart, Low, ThisShift,
            "The drive started anew on its own; an incremental axis has lost its zero.",
            ["its control supply dropped out", "someone switched it off and on", "its own watchdog restarted it"],
            "Check the drive's control supply for drop-outs and loose terminals."),
        new(FaultCode.WrongIdentity, "wrong identity", FaultClass.Grave, Medium, Now,
            "Another drive answers than the one this axis was set up with.",
            ["the drive was exchanged", "two drives' addresses were swapped", "two drives' cables were swapped", "its vendor, product or revision is none that its definition accepts"],
            "If the drive was exchanged, check its parameters, reset and home the axis; otherwise check the drives' addresses."),
        new(FaultCode.DriveErrorsFrequent, "drive errors frequent", FaultClass.Warning, Low, ThisShift,
            "Of the last exchanges with the drive more failed than the port's errorRate in the machine file lets pass; repeats made up for it.",
            ["a terminal or shield at this drive is loose", "its cable runs beside a motor cable", "the drive answers later than responseTimeoutMs"],
            "Check the drive's plug, shield and earth, and compare its answering time with responseTimeoutMs before it gets worse."),
        new(FaultCode.DriveErrorsTooMany, "drive errors too many", FaultClass.Link, Low, Now,
            "So many of the last exchanges with the drive failed that a stop or a position can't be relied on to come through.",
            ["a terminal or shield at this drive is loose", "another device uses the same address", "its cable is damaged or runs beside a motor cable"],
            "Mend the drive's plug, cable, shield or address, then reset: the count begins anew with the reset."),
        new(FaultCode.LineErrorsFrequent, "line errors frequent", FaultClass.Warning, Low, ThisShift,
            "Of the last exchanges of the port more failed than its errorRate in the machine file lets pass; repeats made up for it.",
            ["the line is not terminated, or at more than its two ends", "the shield is open or the earth missing", "a drive or adapter disturbs the line"],
            "Check termination, shield and earth of the line, and see by the axes' error shares whether one drive stands out."),
        new(FaultCode.LineErrorsTooMany, "line errors too many", FaultClass.Link, Low, Now,
            "So many of the last exchanges of the port failed that none of its axes can be relied on.",
            ["the line is not terminated, or at more than its two ends", "a drive or adapter disturbs the line", "the adapter is failing", "a second master speaks on the line"],
            "Mend the line or change the adapter, then reset its axes: the count begins anew with the reset."),
        new(FaultCode.AdapterHearsItself, "adapter hears itself", FaultClass.Warning, Medium, Now,
            "Each request comes back from the adapter ahead of its answer; since it could pass for one, nothing on the port counts as answered, and none of its axes and modules is met.",
            ["the adapter's receiver is on while it sends: its echo switch or jumper", "rs485 of the port is missing, so nothing switches the direction", "sending and receiving wires are joined at a four-wire adapter"],
            "Let the adapter's receiver off while it sends: by its echo switch or jumper, or by rs485 of the port in the machine file where its driver switches the direction."),
    ];
}

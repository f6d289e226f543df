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
            ["the drive was exchanged", "two drives' addresses were swapped", "two drives' cables were swapped"],
            "If the drive was exchanged, check its parameters, reset and home the axis; otherwise check the drives' addresses."),
    ];
}

using static Supervisor.Records.Faults.FaultPriority;
using static Supervisor.Records.Faults.FaultUrgency;

namespace Supervisor.Records.Faults;

/// <summary>4xx stops and interlocks, 5xx the supervisor itself.</summary>
internal static class MachineFaults
{
    public static readonly FaultEntry[] Entries =
    [
        new(FaultCode.StopFailed, "stop failed", FaultClass.Grave, High, Now,
            "The axis did not slow down when it was told to stop, or its torque did not go off.",
            ["the drive does not take the stop", "the line is cut while the drive moves", "the load drives the axis", "the stopping torque is too low"],
            "Press the emergency stop, stay clear, and have the drive, its line and the brake checked before anyone resets.")
            { Reaction = new FaultReaction(StopReaction.CutPower, StopReaction.CutPower) },
        new(FaultCode.ChannelDiscrepancy, "channel discrepancy", FaultClass.Grave, Medium, Now,
            "The two channels of an interlock did not agree for too long.",
            ["one contact is welded or stuck", "one channel's wire is broken or shorted", "the guard or button was moved only half"],
            "Have a qualified person check both contacts and their wiring before anyone resets.")
            { Reaction = new FaultReaction(StopReaction.AsInterlock, StopReaction.None) },
        new(FaultCode.PortThreadEnded, "port thread ended", FaultClass.Daemon, Medium, Now,
            "The part of the supervisor that serves this port ended by an error of its own.",
            ["an error in the supervisor", "the board is out of memory or its hardware is at fault"],
            "Keep the black-box file and the log for the maker of the software; the service starts anew by itself."),
    ];
}

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
        new(FaultCode.ZoneEntered, "zone entered", FaultClass.Grave, Medium, Now,
            "While the axis moved, it or the other axis of a zone came where they may collide.",
            ["the other axis was pushed, sank or ran on without torque", "an axis went farther than its target", "a zero is wrong"],
            "Switch the machine off and secure it before you reach in, see where both axes really are, then reset and jog one of them out."),
        new(FaultCode.ZoneUnproven, "zone unproven", FaultClass.Link, Low, Now,
            "While the axis moved, the other axis of a zone no longer told where it is.",
            ["the other axis's drive or line was lost", "the other axis lost its zero", "the line is disturbed"],
            "Look at the other axis's fault first and home it if it has lost its zero, then reset this one."),
        new(FaultCode.ModuleLost, "module lost", FaultClass.Warning, Low, Now,
            "A module does not answer: its inputs count as open, and what its outputs are is not known.",
            ["the module has no supply", "its line or plug is loose", "its address or its line settings differ from the machine file"],
            "Check the module's supply, its plug and its address; interlocks on its inputs close once it answers, and wait for their reset."),
        new(FaultCode.ModuleRestarted, "module restarted", FaultClass.Warning, Low, ThisShift,
            "A module's outputs or its communication time-out were not as they were left.",
            ["its supply dropped out for a moment", "its communication time-out ran out", "another master or a tool commands it"],
            "Check the module's supply and that nobody else commands it, then look whether what it operates stands as it should."),
        new(FaultCode.ModuleTimeoutUnverified, "module time-out not verified", FaultClass.Warning, Low, Now,
            "A module did not take its communication time-out, so none of its outputs is set.",
            ["the register or its unit in the machine file is wrong", "the module lets it be set in another state or by its own tool only", "it is another kind of module"],
            "Compare the machine file's communicationTimeout with the module's manual; its outputs stay unset until it is right."),
        new(FaultCode.ModuleRefuses, "module refuses", FaultClass.Warning, Low, Now,
            "A module answers a request with a Modbus exception, told as the drive code.",
            ["function, start or number of bits in the machine file is wrong", "a terminal of it is missing or in trouble", "it is another kind of module"],
            "Compare the machine file's inputs and outputs with the module's manual and with what is plugged into it."),
        new(FaultCode.ModuleOutputNotTaken, "module output not taken", FaultClass.Warning, Low, Now,
            "An output of a module was set and is not what it was set to.",
            ["the output is short-circuited or without supply", "readBack in the machine file is wrong", "another master or a tool commands the module"],
            "Check what is wired to the output and its supply, then the machine file's outputs."),
        new(FaultCode.PortThreadEnded, "port thread ended", FaultClass.Daemon, Medium, Now,
            "The part of the supervisor that serves this port ended by an error of its own.",
            ["an error in the supervisor", "the board is out of memory or its hardware is at fault"],
            "Keep the black-box file and the log for the maker of the software; the service starts anew by itself."),
    ];
}

using static Supervisor.Records.Faults.FaultPriority;
using static Supervisor.Records.Faults.FaultUrgency;

namespace Supervisor.Records.Faults;

/// <summary>4xx stops and interlocks, 5xx the supervisor itself.</summary>
internal static class MachineFaults
{
    // All axes behind the contactor.
    private static readonly FaultReaction HoldsAll = new(StopReaction.StopAndHold, StopReaction.StopAndHold);
    private static readonly FaultReaction NothingStops = new(StopReaction.None, StopReaction.None);

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
        new(FaultCode.ContactorWelded, "contactor welded", FaultClass.Grave, High, Now,
            "The contactor of the drives' supply did not open, or was closed while it should be open.",
            ["a main contact is welded", "the mirror contact or its wire is broken", "another circuit holds the contactor"],
            "Switch the main switch off and secure it, and have the contactor and its mirror contact checked before anyone resets.")
            { Reaction = NothingStops },
        new(FaultCode.ContactorMissing, "contactor not proven", FaultClass.Grave, Medium, Now,
            "The mirror contact did not open after switching on, or fell silent: whether the contactor is closed is not known.",
            ["the contactor has no control supply, or its coil is burnt", "an emergency stop or a guard holds it", "the mirror contact or its wire is at fault"],
            "Check the contactor's control circuit and its mirror contact, then reset and switch the power on again.")
            { Reaction = HoldsAll },
        new(FaultCode.ContactorFell, "contactor fell", FaultClass.Grave, Medium, Now,
            "The contactor of the drives' supply opened though it was switched on and no emergency stop or guard was seen to open.",
            ["its control supply dropped out", "a safety circuit opened that is no interlock here", "its coil or the output that drives it is at fault"],
            "Find what opened it: the safety circuit, the control supply or the output, then reset and switch the power on again.")
            { Reaction = HoldsAll },
        new(FaultCode.OutputNotConfirmed, "output not confirmed", FaultClass.Warning, Medium, Now,
            "An output was set, but its level was not read back as set.",
            ["the output is shorted or pulled by something else", "its drive or chip does not answer", "it is held by its own panel or tool"],
            "Check what is wired to the output, and what it operates, before you rely on it."),
        new(FaultCode.OutputChanged, "output changed by itself", FaultClass.Warning, Medium, Now,
            "An output was found at another level than it had been given; it is not switched on again by itself.",
            ["its drive, module or chip started anew or timed out", "another program or tool set it", "it is shorted or overloaded"],
            "Look what it operates, find out why it changed, then set it anew."),
        new(FaultCode.AliveStopped, "alive output stopped", FaultClass.Warning, Low, Now,
            "The output for an outside monitoring relay does not toggle, because something that must be well is not.",
            ["a port's device is unplugged", "the output is not confirmed", "a thread of the supervisor hangs"],
            "See which port, chip or output is told with it; the relay acts as it was made to until all are well."),
        new(FaultCode.PowerDropped, "power dropped", FaultClass.Grave, High, Now,
            "A stop failed, so the drives' supply was taken by the power-enable output.",
            ["the drive does not take the stop", "the load drives the axis", "the stopping torque is too low"],
            "Press the emergency stop, stay clear, and have the axis whose stop failed checked before anyone resets.")
            { Reaction = new FaultReaction(StopReaction.CutPower, StopReaction.CutPower) },
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
            "A module answers a request with a Modbus exception, told as the drive code, or is another one than its identification names (code 0): its inputs count as open and none of its outputs is set.",
            ["function, start or number of bits in the machine file is wrong", "a terminal of it is missing or in trouble", "it is another kind of module"],
            "Compare the machine file's inputs and outputs with the module's manual and with what is plugged into it."),
        new(FaultCode.ModuleOutputNotTaken, "module output not taken", FaultClass.Warning, Low, Now,
            "An output of a module was set and is not what it was set to.",
            ["the output is short-circuited or without supply", "readBack in the machine file is wrong", "another master or a tool commands the module"],
            "Check what is wired to the output and its supply, then the machine file's outputs."),
        new(FaultCode.ModuleErrorsFrequent, "module errors frequent", FaultClass.Warning, Low, ThisShift,
            "Of the last exchanges with a module more failed than its port's errorRate in the machine file lets pass; repeats made up for it.",
            ["a terminal or shield at this module is loose", "its cable runs beside a motor cable", "the module answers later than responseTimeoutMs"],
            "Check the module's plug, shield and earth, and compare its answering time with responseTimeoutMs before it gets worse."),
        new(FaultCode.ModuleErrorsTooMany, "module errors too many", FaultClass.Link, Low, Now,
            "So many of the last exchanges with a module failed that none of its inputs counts as closed any more; its outputs are still set as ordered.",
            ["a terminal or shield at this module is loose", "another device uses the same address", "its cable is damaged or runs beside a motor cable"],
            "Mend the module's plug, cable, shield or address; its inputs count again once the share has fallen below half, and interlocks on them wait for their reset.")
            { Reaction = NothingStops },
        new(FaultCode.CommunicationTimeoutFailed, "communication time-out failed", FaultClass.Grave, Medium, Now,
            "Left unasked on purpose, the drive did not stop by its own communication time-out as its definition says.",
            ["the time-out is switched off in the drive", "another reaction is chosen in the drive", "another device speaks to the drive", "its ramp is gentler than the machine file's"],
            "Set the drive's communication time-out and its reaction, then prove it anew; until then do not rely on it when the line or the supervisor is lost."),
        new(FaultCode.PortThreadEnded, "port thread ended", FaultClass.Daemon, Medium, Now,
            "The part of the supervisor that serves this port ended by an error of its own.",
            ["an error in the supervisor", "the board is out of memory or its hardware is at fault"],
            "Keep the black-box file and the log for the maker of the software; the service starts anew by itself."),
    ];
}

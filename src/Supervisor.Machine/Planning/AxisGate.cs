using Supervisor.Configuration.Machines;
using Supervisor.Machine.Brakes;
using Supervisor.Machine.Interlocks;
using Supervisor.Machine.Outputs;
using Supervisor.Machine.Stops;
using Supervisor.Machine.Watching;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Planning;

/// <summary>What stands between an axis and a command, in the order in which a person has to deal with it.</summary>
internal sealed class AxisGate(MachineView view, InterlockDesk interlocks, StopNames stoppedBy, BrakeDesk brakes, HardwareStops hardware, PowerDesk power)
{
    /// <summary>Anything that forbids moving the axis: no answer, interlocks, its own fault, a faulted or missing companion, a stop that was not released, power that is off.</summary>
    public Objection? Motion(int axis) => Online(axis) ?? Interlock(axis, highestCategory: 2) ?? Fault(axis) ?? Group(axis) ?? Companions(axis) ?? Lock(axis) ?? power.Needed(axis);

    /// <summary>Anything that forbids torque on the axis. What stops in category 2 keeps torque, and so does not stand in its way.</summary>
    public Objection? Torque(int axis) => Online(axis) ?? Interlock(axis, highestCategory: 1) ?? Fault(axis) ?? Companions(axis) ?? power.Needed(axis);

    /// <summary>The axis's drive must answer.</summary>
    public Objection? Online(int axis)
    {
        if (view.IsOnline(axis))
        {
            return null;
        }

        var definition = view.Axes[axis];
        var port = view.Board.Machine.Ports[definition.Port].Name;
        var message = !view.IsAlive(definition.Port) || !view.Port(definition.Port).Open
            ? $"{definition.Name} cannot be reached: port {port} is not open; check the plug of {port}"
            : $"{definition.Name} does not answer at address {definition.Address} of {port}: check the drive's supply and the line";
        return new Objection(Refusal.AxisOffline, axis, message);
    }

    /// <summary>Every interlock of the axis must be closed and reset; an open one is told before one that waits.</summary>
    public Objection? Interlock(int axis) => Interlock(axis, highestCategory: 2);

    private Objection? Interlock(int axis, int highestCategory)
    {
        InterlockMonitor? worst = null;
        foreach (var interlock in interlocks.Of(axis))
        {
            if (interlock.Definition.StopCategory <= highestCategory && interlock.Forbids && (worst is null || (worst.Open == 0 && interlock.Open != 0)))
            {
                worst = interlock;
            }
        }

        return worst is null ? null : new Objection(
            worst.Open != 0 ? Refusal.InterlockOpen : Refusal.InterlockNeedsReset, axis,
            $"{view.NameOf(axis)}: {InterlockTexts.Condition(worst)}: {InterlockTexts.Remedy(worst)}");
    }

    /// <summary>No interlock that stood when a command was given may have been reset by its button since. Resets by command are in order with it.</summary>
    public Objection? ResetSince(int axis, ulong stood, bool moves)
    {
        foreach (var interlock in interlocks.Of(axis))
        {
            if (interlock.IsAmong(stood) && !interlock.Forbids && !InterlockDesk.IsResetByCommand(interlock.Definition)
                && (moves || interlock.Definition.StopCategory < 2))
            {
                return new Objection(
                    Refusal.InterlockNeedsReset, axis,
                    $"{view.NameOf(axis)}: {InterlockTexts.Name(interlock.Definition)} was reset after this command was given: give it again");
            }
        }

        return null;
    }

    /// <summary>No fault may be latched on the axis.</summary>
    public Objection? Fault(int axis)
    {
        if (view[axis].State != AxisState.Faulted)
        {
            return null;
        }

        if (HeldLoad(axis) is { } held)
        {
            return held;
        }

        var entry = FaultCatalogue.Entry(view[axis].Fault);
        return new Objection(Refusal.AxisFaulted, axis, hardware.Of(axis, view[axis].State, view[axis].Fault) is var stop and >= 0
            ? $"{view.NameOf(axis)} is faulted ({FaultText(axis, entry)}), as a consequence of {InterlockTexts.Name(view.Board.Machine.Interlocks[stop])}, whose hardware took its power: reset {view.NameOf(axis)}"
            : $"{view.NameOf(axis)} is faulted ({FaultText(axis, entry)}): see to the cause, then reset {view.NameOf(axis)}");
    }

    /// <summary>Its motor must not be what alone holds its load.</summary>
    public Objection? HeldLoad(int axis) => view.HoldsLoad(axis)
        ? new Objection(Refusal.AxisFaulted, axis, $"{view.NameOf(axis)} is faulted ({FaultCatalogue.Entry(view[axis].Fault).Name}): {HeldLoadTexts.Held(view.NameOf(axis))}")
        : null;

    /// <summary>No other axis of its group may be faulted.</summary>
    public Objection? Group(int axis)
    {
        if (view.Axes[axis].Group is not { } group || !view.Board.Latch.IsStanding(view.Board.Causes.Group(group)))
        {
            return null;
        }

        var faulted = FaultedMember(view.Board.Machine.Groups[group]);
        var message = faulted >= 0
            ? $"{view.NameOf(axis)} is held because {view.NameOf(faulted)} of its group {view.Board.Machine.Groups[group].Name} is faulted: reset {view.NameOf(faulted)} first"
            : $"{view.NameOf(axis)} is held by its group {view.Board.Machine.Groups[group].Name}, whose fault is just being cleared: give the command again";
        return new Objection(Refusal.GroupMemberFaulted, axis, message);
    }

    /// <summary>Every other axis of its group must answer: what must stop together is not energised in part.</summary>
    private Objection? Companions(int axis)
    {
        if (view.Axes[axis].Group is not { } group)
        {
            return null;
        }

        var members = view.Board.Machine.Groups[group];
        for (var i = 0; i < members.Axes.Count; i++)
        {
            if (members.Axes[i] != axis && Online(members.Axes[i]) is { } missing)
            {
                return new Objection(Refusal.AxisOffline, members.Axes[i],
                    $"{view.NameOf(axis)} is held because {view.NameOf(members.Axes[i])} of its group {members.Name} is not there: {missing.Message}");
            }
        }

        return null;
    }

    /// <summary>The brake must be proven, where the machine file asks for it.</summary>
    public Objection? Brake(int axis) => brakes.Due(axis);

    /// <summary>An axis that was stopped stays until someone releases it on purpose.</summary>
    public Objection? Lock(int axis)
    {
        if (!view.Board.Latch.IsLocked(axis))
        {
            return null;
        }

        var by = stoppedBy[axis].Length > 0 ? $" by {stoppedBy[axis]}" : "";
        return new Objection(Refusal.StopLocked, axis, $"{view.NameOf(axis)} was stopped{by}: release it first");
    }

    /// <summary>The enabling input must be held closed to jog, where the file names one.</summary>
    public Objection? Enabling(int axis)
    {
        if (view.Axes[axis].EnablingInput is not { } input)
        {
            return null;
        }

        var reading = view.Board.Inputs.Read(view.Board.Inputs.IndexOf(input));
        return reading.Closed && !reading.IsStale(view.Now, Runtime.Axes.Axis.JogLapse)
            ? null
            : new Objection(Refusal.EnablingInputOpen, axis, $"{view.NameOf(axis)}: the enabling input {input.Text} is open: hold it closed, then press anew");
    }

    /// <summary>The axis must know its zero, unless the file says it needs none.</summary>
    public Objection? Reference(int axis) =>
        double.IsNaN(view[axis].Position)
            ? new Objection(Refusal.NotReferenced, axis, $"the drive of {view.NameOf(axis)} does not know its position: home {view.NameOf(axis)}, or see to its encoder")
            : view[axis].Referenced || view.Axes[axis].Reference == ReferenceKind.None
            ? null
            : new Objection(Refusal.NotReferenced, axis, $"{view.NameOf(axis)} is not referenced: home it first");

    /// <summary>Text of an axis's fault with the zone it is about, or the drive's own number.</summary>
    private string FaultText(int axis, FaultEntry entry) =>
        view[axis].FaultZone > 0 ? $"{entry.Name}: {view.Board.Machine.Zones[view[axis].FaultZone - 1].Name}"
            : view[axis].DriveCode == 0 ? entry.Name
            : view.Axes[axis].Drive.Fault(view[axis].DriveCode) is { Text: { } text } ? $"{entry.Name}, drive code {view[axis].DriveCode}: {text}"
            : $"{entry.Name}, drive code {view[axis].DriveCode:X4}h";

    private int FaultedMember(GroupDefinition group)
    {
        for (var i = 0; i < group.Axes.Count; i++)
        {
            if (view[group.Axes[i]].State == AxisState.Faulted)
            {
                return group.Axes[i];
            }
        }

        return -1;
    }
}

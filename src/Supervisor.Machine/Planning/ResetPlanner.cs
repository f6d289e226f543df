using Supervisor.Machine.Api;
using Supervisor.Machine.Brakes;
using Supervisor.Machine.Commands;
using Supervisor.Machine.Interlocks;
using Supervisor.Machine.Outputs;
using Supervisor.Machine.Recovery;
using Supervisor.Machine.Watching;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Machine.Planning;

/// <summary>Plans a reset: faults of axes by their ports, process interlocks and the power-enable at once. Emergency stops and guards are reset at the machine only.</summary>
internal sealed class ResetPlanner(MachineView view, AxisGate gate, InterlockDesk interlocks, PowerDesk power, ReducedSpeeds reduced)
{
    /// <summary>Whether an own alarm waits for a reset that names no axis.</summary>
    public Func<bool>? HasLatchedAlarm { get; set; }

    public Objection? Reset(PendingCommand pending, RunningCommand?[] inHand, List<CommandPart> parts) =>
        pending.Command is ResetCommand { LoadSupported: true } ? Supported(pending, inHand, parts)
        : pending.Axes.Length > 0 ? Named(pending, inHand, parts) : All(pending, inHand, parts);

    private Objection? Named(PendingCommand pending, RunningCommand?[] inHand, List<CommandPart> parts)
    {
        foreach (var axis in pending.Axes)
        {
            if (view[axis].State != AxisState.Faulted && reduced.IsReduced(axis))
            {
                // Only its speed is to reset, and that is kept here.
                continue;
            }

            if ((NotFaulted(axis) ?? gate.Online(axis) ?? NotOff(axis, inHand)) is { } objection)
            {
                return objection;
            }

            parts.Add(Part(pending, axis));
        }

        return null;
    }

    /// <summary>A person has looked at each load: it is taken from the motor.</summary>
    private Objection? Supported(PendingCommand pending, RunningCommand?[] inHand, List<CommandPart> parts)
    {
        if (pending.Axes.Length == 0)
        {
            return new Objection(Refusal.InvalidArgument, -1, "no axis is named: name each whose load you have supported");
        }

        foreach (var axis in pending.Axes)
        {
            var objection = gate.Online(axis) ?? (view.HoldsLoad(axis) ? null : new Objection(Refusal.NoHeldLoad, axis, HeldLoadTexts.NotHeld(view.NameOf(axis))))
                ?? (inHand[axis] is null ? null : NotOff(axis, inHand));
            if (objection is not null)
            {
                return objection;
            }

            parts.Add(Part(pending, axis, AxisCommandKind.LoadSupported));
        }

        return null;
    }

    private Objection? All(PendingCommand pending, RunningCommand?[] inHand, List<CommandPart> parts)
    {
        Objection? obstacle = null;
        for (var axis = 0; axis < view.Axes.Length; axis++)
        {
            if (view[axis].State != AxisState.Faulted)
            {
                continue;
            }

            var objection = gate.Online(axis) ?? NotOff(axis, inHand);
            obstacle ??= objection;
            if (objection is null)
            {
                parts.Add(Part(pending, axis));
            }
        }

        return parts.Count > 0 || interlocks.HasResettable(view.Now) || power.IsResettable || HasLatchedAlarm?.Invoke() == true ? null : obstacle ?? power.NotResettable() ?? WhyNothing();
    }

    private Objection WhyNothing()
    {
        foreach (var interlock in interlocks.All)
        {
            if (interlock.Forbids)
            {
                return Elsewhere(interlock, -1, "");
            }
        }

        return new Objection(Refusal.NotFaulted, -1, "nothing is to reset: no axis is faulted and no interlock waits for its reset");
    }

    private Objection? NotFaulted(int axis)
    {
        if (view[axis].State == AxisState.Faulted)
        {
            return null;
        }

        foreach (var interlock in interlocks.Of(axis))
        {
            if (interlock.Forbids)
            {
                var isHere = InterlockDesk.IsResetByCommand(interlock.Definition) && interlock.Open == 0 && !interlock.HasDiscrepancy;
                return isHere
                    ? new Objection(Refusal.NotFaulted, axis, $"{view.NameOf(axis)} is not faulted; {InterlockTexts.Condition(interlock)}: give the command reset without naming an axis")
                    : Elsewhere(interlock, axis, $"{view.NameOf(axis)} is not faulted; ");
            }
        }

        return new Objection(Refusal.NotFaulted, axis, $"{view.NameOf(axis)} is not faulted: nothing is to reset");
    }

    private static Objection Elsewhere(InterlockMonitor interlock, int axis, string before)
    {
        var reason = !InterlockDesk.IsResetByCommand(interlock.Definition) ? Refusal.InterlockResetElsewhere
            : interlock.HasDiscrepancy ? Refusal.CauseStillPresent
            : Refusal.InterlockOpen;
        return new Objection(reason, axis, $"{before}{InterlockTexts.Condition(interlock)}: {InterlockTexts.Remedy(interlock)}");
    }

    /// <summary>A fault is reset once its stop is over and torque is off.</summary>
    private Objection? NotOff(int axis, RunningCommand?[] inHand) =>
        inHand[axis] is not null ? new Objection(Refusal.AxisBusy, axis, $"{view.NameOf(axis)} is in the midst of another command: wait until it has ended")
        : view.HoldsLoad(axis) ? new Objection(Refusal.NeedsConfirmation, axis, HeldLoadTexts.Held(view.NameOf(axis)))
        : view[axis].Detail is AxisDetail.Stopping or AxisDetail.Deenergising
            ? new Objection(Refusal.AxisBusy, axis, $"{view.NameOf(axis)} is still being stopped after its fault: wait until its torque is off, then reset it")
        : null;

    private static CommandPart Part(PendingCommand pending, int axis, AxisCommandKind kind = AxisCommandKind.Reset) =>
        new(new AxisCommand(pending.Id, (short)axis, kind, pending.StopEpochs[axis], 0, 0, 0, 0, 0), 0);
}

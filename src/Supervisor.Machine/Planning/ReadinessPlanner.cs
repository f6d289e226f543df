using Supervisor.Machine.Api;
using Supervisor.Machine.Commands;
using Supervisor.Machine.Modes;
using Supervisor.Machine.Watching;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Machine.Planning;

/// <summary>Plans enabling, disabling and outputs.</summary>
internal sealed class ReadinessPlanner(MachineView view, AxisGate gate, ModeDesk modes)
{
    private static readonly TimeSpan LongestTurnOff = TimeSpan.FromSeconds(15);

    public Objection? Enable(PendingCommand pending, RunningCommand?[] inHand, List<CommandPart> parts)
    {
        foreach (var axis in pending.Axes)
        {
            var mayBeLost = modes.Permits(ModeAct.EnergiseUnreferenced);
            if ((gate.Torque(axis) ?? MotionPlanner.Idle(view, axis, inHand) ?? (mayBeLost ? null : gate.Reference(axis))) is { } objection)
            {
                return objection;
            }

            // An axis that is Ready has what the command asks for.
            if (view[axis].State != AxisState.Ready)
            {
                parts.Add(Part(pending, axis, AxisCommandKind.Enable, mayBeLost));
            }
        }

        return null;
    }

    /// <summary>Taking torque away needs no interlock and takes the place of whatever runs.</summary>
    public Objection? Disable(PendingCommand pending, RunningCommand?[] inHand, List<CommandPart> parts)
    {
        foreach (var axis in pending.Axes)
        {
            if ((gate.Online(axis) ?? gate.HeldLoad(axis)) is { } objection)
            {
                return objection;
            }

            var isOff = view.IsOff(axis) && view[axis].CommandId == 0 && inHand[axis] is null;
            if (!isOff)
            {
                var part = Part(pending, axis, AxisCommandKind.Disable);
                part.WatchUntil = IsGoingOff(axis, inHand) ? view.Now + LongestTurnOff : null;
                parts.Add(part);
            }
        }

        return null;
    }

    /// <summary>On its way off already, by an interlock, a fault or an earlier command: there is nothing to command, only to wait for.</summary>
    private bool IsGoingOff(int axis, RunningCommand?[] inHand)
    {
        ref readonly var now = ref view[axis];
        var takesTorque = view.Board.Causes.Mask(axis, 0) | view.Board.Causes.Mask(axis, 1);
        return now.State == AxisState.Faulted || now.Detail == AxisDetail.Deenergising
            || (now.Detail == AxisDetail.Stopping && (now.Causes & takesTorque) != 0)
            || inHand[axis]?.PartOf(axis)!.Command.Kind == AxisCommandKind.Disable;
    }

    /// <summary>An axis that is not stopped has what the command asks for.</summary>
    public Objection? Release(PendingCommand pending, List<CommandPart> parts)
    {
        var axes = pending.Axes.Length > 0 ? pending.Axes : [.. Enumerable.Range(0, view.Axes.Length)];
        foreach (var axis in axes)
        {
            if (!view.Board.Latch.IsLocked(axis))
            {
                continue;
            }

            if (gate.Online(axis) is { } objection)
            {
                return objection;
            }

            parts.Add(Part(pending, axis, AxisCommandKind.Release));
        }

        return null;
    }

    public Objection? SetOutput(PendingCommand pending, SetOutputCommand command, List<CommandPart> parts)
    {
        var definition = view.Axes[command.Axis];
        var names = definition.Drive.Outputs.Keys.ToArray();
        var output = Array.IndexOf(names, command.Output);
        if (output < 0)
        {
            return new Objection(Refusal.InvalidArgument, command.Axis, names.Length == 0
                ? $"{definition.Name}: the drive definition {definition.Drive.Name} names no outputs"
                : $"{definition.Name} has no output {command.Output}: name one of {Sentences.Names(names)}");
        }

        if (!modes.Permits(ModeAct.SetOutput))
        {
            return new Objection(Refusal.NotInThisMode, command.Axis, $"outputs are not set in {ModeDesk.Name(modes.Mode)} mode: choose another mode first");
        }

        if (gate.Online(command.Axis) is { } objection)
        {
            return objection;
        }

        parts.Add(new CommandPart(new AxisCommand(
            pending.Id, (short)command.Axis, AxisCommandKind.SetOutput, pending.StopEpochs[command.Axis], output, 0, 0, 0, command.On ? 1 : 0), 0));
        return null;
    }

    private static CommandPart Part(PendingCommand pending, int axis, AxisCommandKind kind, bool confirmed = false) =>
        new(new AxisCommand(pending.Id, (short)axis, kind, pending.StopEpochs[axis], 0, 0, 0, 0, 0, confirmed), 0);
}

using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Commands;
using Supervisor.Machine.Modes;
using Supervisor.Machine.Recovery;
using Supervisor.Machine.Watching;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Machine.Planning;

/// <summary>Plans the commands by which axes move: moves, contact moves, homing.</summary>
internal sealed class MotionPlanner(MachineView view, AxisGate gate, HomingGate homingGate, ModeDesk modes, ReducedSpeeds reduced)
{
    private readonly TargetCheck _targets = new(view);

    public Objection? Move(PendingCommand pending, MoveCommand move, RunningCommand?[] inHand, List<CommandPart> parts)
    {
        foreach (var target in pending.Targets)
        {
            var axis = target.Axis;
            var definition = view.Axes[axis];
            var velocity = target.WithoutEnd ? Math.Abs(target.Value) : move.Velocity ?? modes.HighestVelocity(axis);

            // What is wrong with the command itself is told first: it stays wrong whatever the machine does.
            var objection = _targets.Value(axis, target) ?? _targets.Velocity(axis, velocity) ?? modes.Velocity(axis, velocity)
                ?? _targets.Ramp(axis, move.Acceleration, isDeceleration: false) ?? _targets.Ramp(axis, move.Deceleration, isDeceleration: true)
                ?? _targets.Approach(axis, target.WithoutEnd ? null : move.Approach) ?? FixedRange(axis, target)
                ?? gate.Motion(axis) ?? Energised(axis, inHand, isMove: true) ?? Follows(axis, move, inHand) ?? gate.Brake(axis) ?? gate.Reference(axis)
                ?? _targets.Range(axis, target, move.AfterCurrent);
            if (objection is not null)
            {
                return objection;
            }

            parts.Add(new CommandPart(ToCommand(pending, move, target, velocity), 0));
        }

        return null;
    }

    /// <summary>A position beyond a limit is wrong whatever the machine does, unless the axis is beyond it too.</summary>
    private Objection? FixedRange(int axis, MoveTarget target) => target.IsPosition ? _targets.Range(axis, target) : null;

    private AxisCommand ToCommand(PendingCommand pending, MoveCommand move, MoveTarget target, double velocity)
    {
        var axis = target.Axis;
        var limits = view.Axes[axis].Limits;
        var (kind, value) = target switch
        {
            { WithoutEnd: true } => (AxisCommandKind.Run, Math.Sign(target.Value)),
            { FromActual: true } => (AxisCommandKind.MoveFromHere, target.Value),
            { Relative: true } => (AxisCommandKind.MoveBy, target.Value),
            _ => (AxisCommandKind.Move, _targets.Wrapped(axis, target.Value)),
        };
        var approach = target.WithoutEnd ? null : move.Approach;
        return new AxisCommand(
            pending.Id, (short)axis, kind, pending.StopEpochs[axis], value, velocity * reduced.Share(axis),
            move.Acceleration ?? limits.Acceleration, move.Deceleration ?? limits.Deceleration, 0,
            Shape: new MoveShape(target.Way, move.AfterCurrent, approach?.Velocity ?? 0, approach?.StartDistance ?? 0, approach?.EndDistance ?? 0));
    }

    /// <summary>A move that is to wait needs one that arrives, and nobody waiting before it.</summary>
    private Objection? Follows(int axis, MoveCommand move, RunningCommand?[] inHand)
    {
        if (!move.AfterCurrent || (inHand[axis] is null && view[axis].State == AxisState.Ready))
        {
            return null;
        }

        if (inHand[axis] is not { } last || !last.PartOf(axis)!.Command.Arrives)
        {
            return inHand[axis]?.PartOf(axis)!.Command.Kind == AxisCommandKind.Run
                ? new Objection(Refusal.AxisBusy, axis, $"{view.NameOf(axis)} runs without end, so nothing can wait for it: halt it, or let the move take its place")
                : Idle(view, axis, inHand);
        }

        var waits = last.PartOf(axis)!.Command.Shape.AfterCurrent && view[axis].CommandId != last.Id && view[axis].State == AxisState.Moving;
        return waits
            ? new Objection(Refusal.AlreadyWaiting, axis, $"{view.NameOf(axis)} has a move that waits already, command {last.Id}: wait until it has begun")
            : null;
    }

    public Objection? Contact(PendingCommand pending, ContactCommand contact, RunningCommand?[] inHand, List<CommandPart> parts)
    {
        var axis = contact.Axis;
        var toward = new MoveTarget(axis, contact.Toward, Relative: false);
        var objection = _targets.Value(axis, toward) ?? _targets.Velocity(axis, contact.Velocity) ?? modes.Velocity(axis, contact.Velocity) ?? _targets.Torque(axis, contact.Torque)
            ?? gate.Motion(axis) ?? Energised(axis, inHand, isMove: false) ?? gate.Brake(axis) ?? gate.Reference(axis) ?? _targets.Range(axis, toward);
        if (objection is null)
        {
            parts.Add(Part(pending, axis, AxisCommandKind.Contact, _targets.Wrapped(axis, contact.Toward), contact.Velocity, contact.Torque));
        }

        return objection;
    }

    public Objection? Jog(PendingCommand pending, JogCommand jog, RunningCommand?[] inHand, List<CommandPart> parts)
    {
        var axis = jog.Axis;
        var velocity = jog.Velocity ?? view.Axes[axis].JogVelocity;
        var mayBeLost = modes.Permits(ModeAct.EnergiseUnreferenced);
        var objection = _targets.Velocity(axis, velocity) ?? modes.Velocity(axis, velocity) ?? gate.Motion(axis) ?? MayJog(axis, inHand, mayBeLost)
            ?? (mayBeLost ? null : gate.Reference(axis)) ?? gate.Enabling(axis);
        if (objection is null)
        {
            parts.Add(Part(pending, axis, AxisCommandKind.Jog, jog.Positive ? 1 : -1, velocity, torque: 0, confirmed: mayBeLost));
        }

        return objection;
    }

    /// <summary>A press may follow a press, and what decelerates by a halt; it takes no other command's place.</summary>
    private Objection? MayJog(int axis, RunningCommand?[] inHand, bool mayBeLost)
    {
        var halts = inHand[axis] is null && view[axis] is { State: AxisState.Moving, Detail: AxisDetail.Stopping };
        var jogs = inHand[axis]?.PartOf(axis)!.Command.Kind == AxisCommandKind.Jog;
        return halts || jogs ? null : Energised(axis, inHand, isMove: false, mayBeLost);
    }

    /// <summary>Homes the axes named, or all that have a homing, in the machine file's order.</summary>
    public Objection? Home(PendingCommand pending, bool confirmed, RunningCommand?[] inHand, List<CommandPart> parts)
    {
        var axes = pending.Axes.Length > 0 ? pending.Axes : [.. Enumerable.Range(0, view.Axes.Length).Where(axis => view.Axes[axis].Homing is not null)];
        if (axes.Length == 0)
        {
            return new Objection(Refusal.NoHoming, -1, "no axis of this machine has a homing in the machine file: there is nothing to home");
        }

        // What a later axis must be clear of may yet be brought there by an earlier one: it is asked when its turn comes.
        var first = axes.Min(axis => view.Axes[axis].Homing?.Order ?? 0);
        foreach (var axis in axes.OrderBy(axis => view.Axes[axis].Homing?.Order ?? 0))
        {
            if (view.Axes[axis].Homing is not { } homing)
            {
                return new Objection(Refusal.NoHoming, axis, $"{view.NameOf(axis)} has no homing in the machine file: leave it out");
            }

            if ((gate.Motion(axis) ?? Idle(view, axis, inHand) ?? (view[axis].Referenced ? gate.Brake(axis) : null) ?? homingGate.Zero(axis, confirmed)
                ?? (homing.Order == first ? homingGate.Clear(axis, confirmed) : null)) is { } objection)
            {
                return objection;
            }

            parts.Add(new CommandPart(
                new AxisCommand(pending.Id, (short)axis, AxisCommandKind.Home, pending.StopEpochs[axis], 0, 0, 0, 0, 0, confirmed), homing.Order));
        }

        return null;
    }

    /// <summary>Neither moving nor in the midst of another command.</summary>
    public static Objection? Idle(MachineView view, int axis, RunningCommand?[] inHand)
    {
        var doing = inHand[axis] is { } running ? Doing(running.PartOf(axis)!.Command.Kind)
            : view[axis].State == AxisState.Moving ? "moving"
            : view[axis].State == AxisState.Homing ? "homing"
            : view[axis].Detail == AxisDetail.ProvingBrake ? "proving its brake"
            : view[axis].Detail is AxisDetail.Energising or AxisDetail.Deenergising or AxisDetail.Stopping ? view[axis].Detail.ToString().ToLowerInvariant()
            : null;
        return doing is null ? null : new Objection(Refusal.AxisBusy, axis, $"{view.NameOf(axis)} is {doing}: wait until it has ended, or stop {view.NameOf(axis)}");
    }

    private static string Doing(AxisCommandKind kind) => kind switch
    {
        AxisCommandKind.Enable => "being enabled",
        AxisCommandKind.Disable => "being disabled",
        AxisCommandKind.Home => "homing",
        AxisCommandKind.Contact => "making a contact move",
        AxisCommandKind.Reset => "being reset",
        AxisCommandKind.Jog => "jogging",
        AxisCommandKind.SetOutput => "setting an output",
        AxisCommandKind.Release => "being released",
        AxisCommandKind.ProveBrake => "proving its brake",
        AxisCommandKind.ProveTimeout => "proving its communication time-out",
        AxisCommandKind.LoadSupported => "letting go of its load",
        _ => "moving",
    };

    /// <summary>Torque must be on; a move may take another move's place, nothing else may be taken over.</summary>
    private Objection? Energised(int axis, RunningCommand?[] inHand, bool isMove, bool mayBeLost = false)
    {
        if (view[axis].State == AxisState.Disabled && inHand[axis] is null && view[axis].Detail is not (AxisDetail.Energising or AxisDetail.Deenergising))
        {
            return (mayBeLost ? null : gate.Reference(axis)) ?? new Objection(Refusal.NotEnabled, axis, $"{view.NameOf(axis)} is not enabled: enable it first");
        }

        // What decelerates by a halt may be replaced too; a disabling has its command in hand, everything else that stops is refused before.
        var mayReplace = isMove && view[axis].State is AxisState.Moving or AxisState.Ready
            && (inHand[axis]?.PartOf(axis)!.Command is not { } command || command.Arrives || command.Kind == AxisCommandKind.Run);
        return mayReplace ? null : Idle(view, axis, inHand);
    }

    private CommandPart Part(PendingCommand pending, int axis, AxisCommandKind kind, double target, double velocity, double torque,
        bool confirmed = false)
    {
        var limits = view.Axes[axis].Limits;
        return new CommandPart(
            new AxisCommand(pending.Id, (short)axis, kind, pending.StopEpochs[axis], target, velocity * reduced.Share(axis),
                limits.Acceleration, limits.Deceleration, torque, confirmed), 0);
    }
}

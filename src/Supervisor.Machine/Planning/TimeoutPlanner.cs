using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Commands;
using Supervisor.Machine.Modes;
using Supervisor.Machine.Recovery;
using Supervisor.Machine.Watching;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Stops;

namespace Supervisor.Machine.Planning;

/// <summary>
/// Plans proofs of communication time-outs: one axis, in maintenance mode, with a person's word for it, and only where nobody relies on the drive while
/// it is left unasked.
/// </summary>
internal sealed class TimeoutPlanner(MachineView view, AxisGate gate, ModeDesk modes, ReducedSpeeds reduced)
{
    // Below it the ripple of a drive's speed hides what it does.
    private const double LeastShareOfRest = 4;

    private readonly TargetCheck _targets = new(view);

    public Objection? Prove(PendingCommand pending, ProveTimeoutCommand prove, RunningCommand?[] inHand, List<CommandPart> parts)
    {
        var axis = prove.Axis;
        var velocity = prove.Velocity ?? modes.HighestVelocity(axis);
        var moved = new MoveTarget(axis, prove.By, Relative: false) { FromActual = true };
        var objection = HasTimeout(axis) ?? _targets.Value(axis, moved) ?? _targets.Velocity(axis, velocity) ?? InMode(axis) ?? modes.Velocity(axis, velocity)
            ?? Way(axis, prove.By, velocity) ?? Needed(axis) ?? Confirmed(prove) ?? gate.Motion(axis) ?? MotionPlanner.Idle(view, axis, inHand) ?? Enabled(axis)
            ?? gate.Brake(axis) ?? gate.Reference(axis) ?? _targets.Range(axis, moved) ?? Companions(axis, inHand);
        if (objection is null)
        {
            var limits = view.Axes[axis].Limits;
            parts.Add(new CommandPart(
                new AxisCommand(
                    pending.Id, (short)axis, AxisCommandKind.ProveTimeout, pending.StopEpochs[axis], prove.By, velocity * reduced.Share(axis), limits.Acceleration, limits.Deceleration, 0, Confirmed: true),
                0));
        }

        return objection;
    }

    /// <summary>While a drive is left unasked, nothing that must stop with it, or could meet it, gets torque or begins to move.</summary>
    public Objection? Runs(int axis, RunningCommand?[] inHand)
    {
        for (var other = 0; other < view.Axes.Length; other++)
        {
            if (other != axis && inHand[other]?.Pending.Command is ProveTimeoutCommand && AreCompanions(axis, other))
            {
                return new Objection(
                    Refusal.AxisBusy, axis, $"the communication time-out of {view.NameOf(other)} is being proven, and {view.NameOf(axis)} must stay off meanwhile: wait until the proof has ended");
            }
        }

        return null;
    }

    private Objection? HasTimeout(int axis) => view.Axes[axis].Drive.CommunicationTimeout is not null
        ? null
        : new Objection(Refusal.NoCommunicationTimeout, axis,
            $"{view.NameOf(axis)}: drive definition {view.Axes[axis].Drive.Name} declares no communication time-out: the drive would not stop by itself, and nothing is to prove");

    private Objection? InMode(int axis) => modes.Permits(ModeAct.ProveTimeout)
        ? null
        : new Objection(Refusal.NotInThisMode, axis, $"a communication time-out is not proven in {ModeDesk.Name(modes.Mode)} mode: choose the maintenance mode first");

    private Objection? Confirmed(ProveTimeoutCommand prove) => prove.Confirmed
        ? null
        : new Objection(Refusal.NeedsConfirmation, prove.Axis,
            $"{view.NameOf(prove.Axis)} will be stopped by its drive alone, or run on to its target if the drive does nothing: clear its way, keep an emergency stop at hand, then confirm");

    private Objection? Enabled(int axis) => view[axis].State == AxisState.Ready
        ? null
        : new Objection(Refusal.NotEnabled, axis, $"{view.NameOf(axis)} is not enabled: enable it first, then prove its communication time-out");

    /// <summary>The way must hold the whole silence, or a drive that does nothing would be at its target and look as if it had stopped.</summary>
    private Objection? Way(int axis, double by, double velocity)
    {
        var definition = view.Axes[axis];
        if (by == 0)
        {
            return null;
        }

        if (definition.GravityLoaded && definition.Drive.CommunicationTimeout!.Reaction == TimeoutReaction.TorqueOff)
        {
            return new Objection(Refusal.InvalidArgument, axis,
                $"{definition.Name} carries a load, and its drive only lets go of its torque: in motion the load would fall; support it and prove the time-out at rest");
        }

        if (velocity < definition.Limits.RestVelocity * LeastShareOfRest)
        {
            return new Objection(Refusal.InvalidArgument, axis,
                $"{definition.Name}: {Sentences.Speed(definition, velocity)} is too slow to tell a stop from: at least {Sentences.Speed(definition, definition.Limits.RestVelocity * LeastShareOfRest)}");
        }

        var needed = TimeoutAllowance.WayNeeded(definition, view.Board.Machine.Ports[definition.Port], velocity);
        return Math.Abs(by) >= needed ? null : new Objection(Refusal.InvalidArgument, axis,
            $"{definition.Name}: {Sentences.Length(definition, Math.Abs(by))} is too short: at {Sentences.Speed(definition, velocity)} the proof needs {Sentences.Length(definition, Math.Ceiling(needed * 10) / 10)}; give a longer way or go slower");
    }

    /// <summary>What others read from the drive, or set by it, may not fall silent for so long.</summary>
    private Objection? Needed(int axis)
    {
        var machine = view.Board.Machine;
        var silence = TimeoutAllowance.Silence(view.Axes[axis], machine.Ports[view.Axes[axis].Port]) + (machine.Ports[view.Axes[axis].Port].Cycle * 2);
        foreach (var interlock in machine.Interlocks)
        {
            if (interlock.StaleAfter <= silence && interlock.Inputs.Any(input => IsOf(input, axis)))
            {
                return Relied(axis, $"interlock {interlock.Name} reads an input of it and counts it as open after {Sentences.Number(interlock.StaleAfter.TotalMilliseconds)} ms, less than the {Sentences.Number(silence.TotalMilliseconds)} ms of the proof");
            }
        }

        if (machine.PowerEnable is { } power && (power.Output.Axis == axis || IsOf(power.Feedback, axis)))
        {
            return Relied(axis, "the drives' power is switched or proven by it");
        }

        return machine.Alive?.Output.Axis == axis ? Relied(axis, "the alive output is on it") : null;
    }

    private Objection Relied(int axis, string why) => new(
        Refusal.DriveIsNeeded, axis,
        $"the drive of {view.NameOf(axis)} can't be left unasked: {why}; wire or set it otherwise for the proof, or unplug the drive's line while {view.NameOf(axis)} moves slowly, and see in the history how it stopped");

    private static bool IsOf(InputReference input, int axis) => input.Source == InputSource.Drive && input.Axis == axis;

    private Objection? Companions(int axis, RunningCommand?[] inHand)
    {
        for (var other = 0; other < view.Axes.Length; other++)
        {
            if (other != axis && AreCompanions(axis, other) && !(view.IsOff(other) && inHand[other] is null))
            {
                return new Objection(Refusal.CompanionEnergised, axis,
                    $"{view.NameOf(other)} {(SameGroup(axis, other) ? "is of the same group as" : "shares a zone with")} {view.NameOf(axis)} and has torque or is to get it: disable {view.NameOf(other)} first");
            }
        }

        return null;
    }

    private bool AreCompanions(int axis, int other) => SameGroup(axis, other) || ShareZone(axis, other);

    private bool SameGroup(int axis, int other) => view.Axes[axis].Group is { } group && view.Axes[other].Group == group;

    private bool ShareZone(int axis, int other)
    {
        foreach (var zone in view.Board.Zones.All)
        {
            if ((zone.First == axis && zone.Second == other) || (zone.First == other && zone.Second == axis))
            {
                return true;
            }
        }

        return false;
    }
}

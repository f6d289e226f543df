using Supervisor.Machine.Commands;
using Supervisor.Machine.Watching;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Machine.Planning;

/// <summary>Plans proofs of brakes: only while the whole machine stands.</summary>
internal sealed class BrakePlanner(MachineView view, AxisGate gate)
{
    public Objection? Prove(PendingCommand pending, RunningCommand?[] inHand, List<CommandPart> parts)
    {
        foreach (var axis in pending.Axes)
        {
            if ((HasProof(axis) ?? gate.Motion(axis) ?? MotionPlanner.Idle(view, axis, inHand) ?? Enabled(axis) ?? Standing(inHand)) is { } objection)
            {
                return objection;
            }

            parts.Add(new CommandPart(
                new AxisCommand(pending.Id, (short)axis, AxisCommandKind.ProveBrake, pending.StopEpochs[axis], 0, 0, 0, 0, 0), 0));
        }

        return null;
    }

    private Objection? HasProof(int axis) => view.Axes[axis].Brake?.Proof is not null
        ? null
        : new Objection(Refusal.NoBrakeProof, axis, $"{view.NameOf(axis)} has no proof of its brake in the machine file: give its brake a \"proof\", or leave it out");

    private Objection? Enabled(int axis) => view[axis].State == AxisState.Ready
        ? null
        : new Objection(Refusal.NotEnabled, axis, $"{view.NameOf(axis)} is not enabled: enable it first, then prove its brake");

    private Objection? Standing(RunningCommand?[] inHand)
    {
        for (var axis = 0; axis < view.Axes.Length; axis++)
        {
            // What was given may not have begun yet.
            if (view[axis].State is AxisState.Moving or AxisState.Homing || inHand[axis]?.Pending is { Moves: true, Command: not Api.ProveBrakeCommand })
            {
                return new Objection(Refusal.AxisBusy, axis, $"{view.NameOf(axis)} moves: a brake is proven only while the machine stands; wait, or stop {view.NameOf(axis)}");
            }
        }

        return null;
    }
}

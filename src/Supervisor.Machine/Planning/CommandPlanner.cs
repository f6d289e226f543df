using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Commands;
using Supervisor.Machine.Interlocks;
using Supervisor.Machine.Modes;
using Supervisor.Machine.Outputs;
using Supervisor.Machine.Recovery;
using Supervisor.Machine.Watching;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Machine.Planning;

/// <summary>Checks a command against what is known and splits it into its axes' parts: all of them, or an objection and none.</summary>
internal sealed class CommandPlanner(MachineView view, AxisGate gate, InterlockDesk interlocks, ModeDesk modes, ReducedSpeeds reduced, PowerDesk power)
{
    private readonly HomingGate _homing = new(view);
    private readonly MotionPlanner _motion = new(view, gate, new HomingGate(view), modes, reduced);
    private readonly ReadinessPlanner _readiness = new(view, gate, modes);
    private readonly BrakePlanner _brakes = new(view, gate);
    private readonly TimeoutPlanner _timeouts = new(view, gate, modes, reduced);
    private readonly ResetPlanner _reset = new(view, gate, interlocks, power, reduced);

    /// <summary>Whether an own alarm waits for a reset that names no axis.</summary>
    public Func<bool>? HasLatchedAlarm
    {
        get => _reset.HasLatchedAlarm;
        set => _reset.HasLatchedAlarm = value;
    }

    /// <summary>Plans a command. An empty list of parts with no objection means that nothing is left to do.</summary>
    /// <param name="pending">The command.</param>
    /// <param name="inHand">The command that was last given to each axis and has not ended there.</param>
    /// <param name="parts">The parts, in the order in which they are given.</param>
    public Objection? Plan(PendingCommand pending, RunningCommand?[] inHand, List<CommandPart> parts) =>
        Names(pending) ?? StoppedSince(pending) ?? ResetSince(pending) ?? (pending.Moves ? ProofRuns(pending.Command, inHand) : null) ?? TimeoutRuns(pending, inHand) ?? pending.Command switch
        {
            MoveCommand move => _motion.Move(pending, move, inHand, parts),
            ContactCommand contact => _motion.Contact(pending, contact, inHand, parts),
            JogCommand jog => _motion.Jog(pending, jog, inHand, parts),
            ProveBrakeCommand => _brakes.Prove(pending, inHand, parts),
            ProveTimeoutCommand prove => _timeouts.Prove(pending, prove, inHand, parts),
            HomeCommand home => _motion.Home(pending, home.Confirmed, inHand, parts),
            EnableCommand => _readiness.Enable(pending, inHand, parts),
            DisableCommand => _readiness.Disable(pending, inHand, parts),
            SetOutputCommand output => _readiness.SetOutput(pending, output, parts),
            ReleaseCommand => _readiness.Release(pending, parts),
            ChooseModeCommand choose => modes.Choose(choose.Mode, inHand),
            ResetCommand => _reset.Reset(pending, inHand, parts),
            _ => new Objection(Refusal.InvalidArgument, -1, $"the command {pending.Command.GetType().Name} is not known"),
        };

    /// <summary>Whether a later step of a running command may still begin on an axis.</summary>
    public Objection? MayBegin(CommandPart part, RunningCommand?[] inHand) => ProofRuns(null, inHand) ?? _timeouts.Runs(part.Axis, inHand) ?? (part.Command.Kind == AxisCommandKind.Home
        ? gate.Motion(part.Axis) ?? MotionPlanner.Idle(view, part.Axis, inHand) ?? _homing.Clear(part.Axis, part.Command.Confirmed)
        : gate.Motion(part.Axis));

    /// <summary>What forbids an axis to move whatever it is doing.</summary>
    public Objection? Held(int axis) => gate.Motion(axis);

    /// <summary>The stop count has not moved since the command was given.</summary>
    public Objection? NotStopped(int axis, int epoch) => view.Board.Latch.StopEpoch(axis) == epoch
        ? null
        : new Objection(Refusal.Stopped, axis, $"{view.NameOf(axis)} was stopped after this command was given: give it again");

    /// <summary>A brake is proven only while the machine stands, so nothing begins to move meanwhile: what the brake carries may come down.</summary>
    private Objection? ProofRuns(MachineCommand? command, RunningCommand?[] inHand)
    {
        for (var axis = 0; axis < view.Axes.Length && command is not ProveBrakeCommand; axis++)
        {
            if (view[axis].Detail == AxisDetail.ProvingBrake || inHand[axis]?.Pending.Command is ProveBrakeCommand)
            {
                return new Objection(
                    Refusal.AxisBusy, axis, $"the brake of {view.NameOf(axis)} is being proven and may not hold: nothing else moves meanwhile; wait until the proof has ended");
            }
        }

        return null;
    }

    private Objection? TimeoutRuns(PendingCommand pending, RunningCommand?[] inHand)
    {
        if (!(pending.Moves || pending.Command is EnableCommand))
        {
            return null;
        }

        // A homing that names no axis is one of all.
        for (var i = 0; i < (pending.Axes.Length > 0 ? pending.Axes.Length : view.Axes.Length); i++)
        {
            if (_timeouts.Runs(pending.Axes.Length > 0 ? pending.Axes[i] : i, inHand) is { } runs)
            {
                return runs;
            }
        }

        return null;
    }

    /// <summary>A motion that a stop took back is told so, whatever else now stands in its way.</summary>
    private Objection? StoppedSince(PendingCommand pending)
    {
        for (var i = 0; pending.Moves && i < pending.Axes.Length; i++)
        {
            if (NotStopped(pending.Axes[i], pending.StopEpochs[pending.Axes[i]]) is { } stopped)
            {
                return stopped;
            }
        }

        return null;
    }

    /// <summary>
    /// What was commanded while a stop waited for its button must not begin once the button is pressed: a reset only permits, and where this thread
    /// was held up it sees the button before the command.
    /// </summary>
    private Objection? ResetSince(PendingCommand pending)
    {
        if (pending.Standing == 0 || !(pending.Moves || pending.Command is EnableCommand))
        {
            return null;
        }

        // A homing that names no axis is one of all.
        var count = pending.Axes.Length > 0 ? pending.Axes.Length : view.Axes.Length;
        for (var i = 0; i < count; i++)
        {
            var axis = pending.Axes.Length > 0 ? pending.Axes[i] : i;
            if ((pending.Axes.Length > 0 || view.Axes[axis].Homing is not null) && gate.ResetSince(axis, pending.Standing, pending.Moves) is { } reset)
            {
                return reset;
            }
        }

        return null;
    }

    private Objection? Names(PendingCommand pending)
    {
        if (pending.Axes.Length == 0 && pending.Command is not (HomeCommand or ResetCommand or ReleaseCommand or ChooseModeCommand))
        {
            return new Objection(Refusal.InvalidArgument, -1, $"no axis is named: name at least one of {Sentences.Names(AllNames())}");
        }

        for (var i = 0; i < pending.Axes.Length; i++)
        {
            var axis = pending.Axes[i];
            if (!view.IsKnown(axis))
            {
                return new Objection(Refusal.UnknownAxis, -1, $"there is no axis with index {axis}: this machine has {Sentences.Names(AllNames())}");
            }

            if (Array.IndexOf(pending.Axes, axis) != i)
            {
                return new Objection(Refusal.InvalidArgument, axis, $"{view.NameOf(axis)} is named twice: name each axis once");
            }
        }

        return null;
    }

    private string[] AllNames() => [.. view.Axes.Select(axis => axis.Name)];
}

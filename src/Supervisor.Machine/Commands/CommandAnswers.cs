using Supervisor.Configuration.Drives;
using Supervisor.Machine.Api;
using Supervisor.Machine.Brakes;
using Supervisor.Machine.Interlocks;
using Supervisor.Machine.Planning;
using Supervisor.Machine.Stops;
using Supervisor.Machine.Timeouts;
using Supervisor.Machine.Watching;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Machine.Commands;

/// <summary>Puts the end of a command into words, tells it to whoever waits, and to the journal where it is worth keeping.</summary>
internal sealed class CommandAnswers(MachineView view, InterlockDesk interlocks, AxisGate gate, HardwareStops hardware, TimeoutDesk timeouts, IJournal journal)
{
    public void Refuse(PendingCommand pending, Objection objection) => End(
        pending, new CommandAnswer(pending.Id, Outcome.Refused, objection.Reason, FaultCode.None, objection.Axis, objection.Message, null));

    public void EndDone(RunningCommand running) => End(running.Pending, new CommandAnswer(
        running.Id, Outcome.Done, Refusal.None, FaultCode.None, running.Parts.Length == 1 ? running.Parts[0].Axis : -1, running.Result ?? "done", running.Value));

    public void End(RunningCommand running, CommandCause cause) => End(running.Pending, new CommandAnswer(
        running.Id, cause.Outcome, cause.Refusal, cause.Fault, cause.Axis, cause.Message, null));

    public void End(PendingCommand pending, CommandAnswer answer)
    {
        pending.End(answer);
        if (IsWorthKeeping(pending.Command, answer))
        {
            journal.Command(pending.Command, pending.Holder, answer, view.Now);
        }
    }

    /// <summary>The objection of a command whose holder has given authority back.</summary>
    public static Objection? Abandoned(PendingCommand pending) => pending.IsAbandoned
        ? new Objection(Refusal.AuthorityLost, -1, $"{pending.Holder} gave authority back before the command had ended: its axes were stopped")
        : null;

    /// <summary>What the proof of a brake found.</summary>
    public string Proven(in AxisReport report)
    {
        var definition = view.Axes[report.Axis];
        var proof = definition.Brake!.Proof!;
        return $"the brake of {definition.Name} held {Sentences.Number(proof.Torque)} %: it moved {Sentences.Length(definition, report.Value)} of {Sentences.Length(definition, proof.Movement)}";
    }

    /// <summary>What the proof of a communication time-out found.</summary>
    public string? ProvenTimeout(in AxisReport report) => timeouts.TextOf(report.Axis, report.CommandId);

    /// <summary>What became of a load that was supported.</summary>
    public string LetGo(in AxisReport report) => HeldLoadTexts.LetGo(view.NameOf(report.Axis));

    public CommandCause DeadPort(int axis)
    {
        var port = view.Board.Machine.Ports[view.Axes[axis].Port].Name;
        return new CommandCause(Outcome.Failed, Refusal.None, FaultCode.PortThreadEnded, axis,
            $"{view.NameOf(axis)}: port {port} does not report any more; the drive stops by its own communication time-out: look at the log, then start the supervisor anew");
    }

    public CommandCause StillOn(int axis) => new(Outcome.Failed, Refusal.None, FaultCode.StopFailed, axis,
        $"{view.NameOf(axis)}: torque was not seen to go off in time: press the emergency stop and stay clear");

    /// <summary>Why a command cannot end well any more, from what one axis reported.</summary>
    public CommandCause Cause(RunningCommand running, in AxisReport report)
    {
        if (Abandoned(running.Pending) is { } abandoned && report.Refusal == Refusal.Stopped)
        {
            return new CommandCause(Outcome.Replaced, abandoned.Reason, FaultCode.None, report.Axis, abandoned.Message);
        }

        // An axis may still refuse what looked good a moment ago; when another has already begun, the command as a whole was begun.
        var outcome = report.Outcome == Outcome.Refused && running.HasBegun ? Outcome.Replaced : report.Outcome;
        return new CommandCause(outcome, report.Refusal, report.Fault, report.Axis, Message(report));
    }

    private string Message(in AxisReport report)
    {
        var axis = report.Axis;
        var name = view.NameOf(axis);
        if (report.Outcome == Outcome.Failed && report.Refusal == Refusal.None)
        {
            var entry = FaultCatalogue.Entry(report.Fault);
            if (hardware.CauseOf(axis, report.Fault, report.At) is { } stop)
            {
                return $"{name}: {entry.Name}, as a consequence of {InterlockTexts.Name(stop.Definition)}, whose hardware took its power: {InterlockTexts.Remedy(stop)}, then reset {name}";
            }

            if (report.Fault == FaultCode.CommunicationTimeoutFailed && timeouts.TextOf(axis, report.CommandId) is { } found)
            {
                return found;
            }

            return report.Fault == FaultCode.None
                ? $"{name} came to its target before it was seen at its speed: give a longer way or go slower"
                : $"{name}: {entry.Name}: {Clause(entry.Meaning)}; {Clause(entry.Remedy)}";
        }

        return report.Refusal switch
        {
            Refusal.Stopped => $"{name} was stopped before the command had ended",
            Refusal.StopLocked => gate.Lock(axis)?.Message ?? $"{name} was stopped just then: release it first",
            Refusal.JogLapsed => $"{name}: the jog was not refreshed within 250 ms: press anew",
            Refusal.JogEnded => $"{name}: this press of the jog has ended: press anew",
            Refusal.EnablingInputOpen => gate.Enabling(axis)?.Message ?? $"{name}: the enabling input {view.Axes[axis].EnablingInput?.Text} was open just then: hold it closed, then press anew",
            Refusal.ReplacedByCommand => $"{name} was given a later command",
            Refusal.ShuttingDown => $"{name}: {Sentences.ShuttingDown}",
            Refusal.PositionLimit => $"{name}: from where it is now the target is beyond its limit of {Sentences.Length(view.Axes[axis], report.Value)}; give one inside",
            Refusal.VelocityLimit => $"{name}: the velocity is above its limit of {Sentences.Speed(view.Axes[axis], report.Value)}; give a lower one",
            Refusal.AccelerationLimit => $"{name}: a ramp is above its limit of {Sentences.Speed(view.Axes[axis], report.Value)}²; give a lower one",
            Refusal.AlreadyWaiting => $"{name} has a move that waits already: wait until it has begun",
            Refusal.TorqueLimit => $"{name}: the torque is above its contact limit of {Sentences.Number(report.Value)} %; give a lower one",
            Refusal.InterlockTripped or Refusal.InterlockOpen or Refusal.InterlockNeedsReset => Held(axis),
            Refusal.CauseStillPresent when view.Axes[axis].Drive.Fault(view[axis].DriveCode) is { Clear: FaultClear.PowerCycle } =>
                $"{name} is still faulted ({FaultCatalogue.Entry(view[axis].Fault).Name}), and no reset clears this: see to the cause, switch its drive off and on, then reset it again",
            Refusal.CauseStillPresent => $"{name} is still faulted ({FaultCatalogue.Entry(view[axis].Fault).Name}): {Clause(FaultCatalogue.Entry(view[axis].Fault).Remedy)}, then reset it again",
            Refusal.ParametersDiffer => $"{name} is still faulted ({FaultCatalogue.Entry(view[axis].Fault).Name}): {ParameterTexts.WhyNot(view.Board, axis)}, then reset it again",
            Refusal.ParametersInUse => $"{name}: its drive's parameters are being read, written or compared just now: wait until that has ended",
            Refusal.NotSupportedByDrive => $"{name}: its drive definition {view.Axes[axis].Drive.Name} gives no way to do this",
            Refusal.NotReferenced => $"{name} is not referenced: home it first",
            Refusal.NotEnabled => $"{name} is not enabled: enable it first",
            Refusal.NotFaulted => $"{name} is not faulted: nothing is to reset",
            Refusal.AxisBusy when view.HoldsLoad(axis) => HeldLoadTexts.Moves(name),
            Refusal.AxisBusy => $"{name} is in the midst of something else: wait until it has ended, or stop {name}",
            Refusal.AxisOffline => gate.Online(axis)?.Message ?? $"{name} did not answer just then: give the command again",
            Refusal.AxisFaulted => gate.Fault(axis)?.Message ?? $"{name} was faulted just then: give the command again",
            Refusal.NotClearToHome => $"{name}: what must stay clear of it while it is homed was not proven clear: look at its clearOf conditions, then home it again",
            Refusal.NeedsConfirmation when report.Outcome == Outcome.Refused && view.HoldsLoad(axis) => HeldLoadTexts.Held(name),
            Refusal.NoHeldLoad => HeldLoadTexts.NotHeld(name),
            Refusal.NeedsConfirmation => $"{name}: homing it needs a person's confirmation: make sure that nothing is in its way and that its zero is where it stands, then confirm",
            Refusal.GroupMemberFaulted => gate.Group(axis)?.Message ?? $"{name}: another axis of its group is faulted: reset that one first",
            _ => $"{name} could not take it ({report.Refusal}): look at its state, then give the command again",
        };
    }

    private string Held(int axis)
    {
        if (view.Board.Latch.IsStanding(Runtime.Stops.StopCauses.ShutDown))
        {
            return $"{view.NameOf(axis)}: {Sentences.ShuttingDown}";
        }

        foreach (var interlock in interlocks.Of(axis))
        {
            if (interlock.IsStanding)
            {
                return $"{view.NameOf(axis)} was stopped: {InterlockTexts.Condition(interlock)}: {InterlockTexts.Remedy(interlock)}";
            }
        }

        return gate.Group(axis)?.Message ?? $"{view.NameOf(axis)} was stopped by an interlock";
    }

    /// <summary>A sentence of the catalogue as a part of a longer one.</summary>
    private static string Clause(string sentence) => $"{char.ToLowerInvariant(sentence[0])}{sentence[1..].TrimEnd('.')}";

    private static bool IsWorthKeeping(MachineCommand command, CommandAnswer answer) => answer.Outcome switch
    {
        Outcome.Refused or Outcome.Failed => true,
        Outcome.Replaced => answer.Refusal != Refusal.ReplacedByCommand,
        _ => command is EnableCommand or DisableCommand or HomeCommand or ProveBrakeCommand or ProveTimeoutCommand or ResetCommand or StopCommand or ReleaseCommand or ChooseModeCommand or SwitchPowerCommand or UnheldCommand and not AlarmCommand,
    };
}

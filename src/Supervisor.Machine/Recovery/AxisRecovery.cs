using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Commands;
using Supervisor.Machine.Interlocks;
using Supervisor.Machine.Planning;
using Supervisor.Machine.Watching;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Machine.Recovery;

/// <summary>Brings one axis back after a fault, as far as the machine file allows and never farther than it was.</summary>
/// <remarks>
/// <code>
/// Idle      fault that a rule names, and no
///           interlock opened and unreset    → Waiting
/// Waiting   an interlock latched by silence  → Waiting, for the reset alone
/// Waiting   drive answers, interlocks closed
///           and reset, back-off passed       → Resetting   (one attempt)
/// Resetting done                             → Approach, or Idle when that was all
/// Approach  nothing forbids motion           → Returning   (enable or home)
/// Returning done                             → Idle
/// Resetting, Returning failed                → Waiting, or Idle when the attempts are used up
/// any       a person's command or stop, an interlock opened, a fault of another kind, too late → Idle
/// </code>
/// Polly retries calls and waits for them; here time is an argument and nothing may wait.
/// </remarks>
internal sealed partial class AxisRecovery(
    int axis, MachineView view, AxisGate gate, InterlockDesk interlocks, CommandDesk commands, CommandInbox inbox, RecoveryDesk desk, ReducedSpeeds reduced, IJournal journal)
{
    // Nobody expects an axis to start when hours have passed since its fault.
    private static readonly TimeSpan LongestWait = TimeSpan.FromMinutes(5);
    private static readonly TimeSpan LongestApproach = TimeSpan.FromSeconds(10);
    private readonly AxisDefinition _definition = view.Axes[axis];
    private readonly Dictionary<RecoveryDefinition, RecoveryBudget> _budgets =
        view.Axes[axis].Recovery.ToDictionary(rule => rule, rule => new RecoveryBudget(rule));

    private readonly FollowingPlaces _places = new(view.Axes[axis]);
    private RecoveryState _state;
    private RecoveryDefinition? _rule;
    private RecoveryBudget? _budget;
    private FaultCode _after;
    private RecoveryAction _action;
    private string? _limitedBy;
    private PendingCommand? _command;
    private TimeSpan _begunAt;
    private TimeSpan? _goodSince;
    private TimeSpan? _forbiddenSince;
    private int _epoch;
    private int _openings;

    private enum RecoveryState : byte
    {
        Idle,
        Waiting,
        Resetting,
        Approach,
        Returning,
    }

    public bool IsActive => _state != RecoveryState.Idle;

    public void NoteFault(in FaultEvent fault)
    {
        var entry = FaultCatalogue.Entry(fault.Code);
        if (entry.IsWarning)
        {
            return;
        }

        // Where only switching the drive off and on helps, a reset is tried in vain.
        var mayTry = entry.MayRecover && _definition.Drive.Fault(fault.DriveCode) is not { Clear: FaultClear.PowerCycle };
        var rule = mayTry ? _definition.Recovery.FirstOrDefault(rule => rule.Faults.Contains(entry.Class)) : null;
        if (IsActive)
        {
            // The same trouble again ends the command in hand by itself; another is a matter for a person, and so is an axis that again does not follow.
            if (rule != _rule || entry.Class == FaultClass.Following)
            {
                Cancel($"another fault came: {entry.Name}");
            }
        }
        else if (rule is not null && entry.Class == FaultClass.Following && (_places.IsKnown(fault.Position, view.Now) || IsStillSlowSince(fault.Position)))
        {
            Tell(RecoveryChange.NotBegun, rule, fault.Code, $"not begun after {entry.Name}: the axis was brought back from this place before, so see what holds it there");
        }
        else if (rule is not null)
        {
            Begin(rule, entry, fault.State);
            if (IsActive && entry.Class == FaultClass.Following)
            {
                _places.Note(fault.Position, view.Now);
                reduced.Reduce(axis, rule.SpeedPercent, fault.Position, view[axis].Target);
            }
        }
    }

    /// <summary>The axis was given a command; one that is not this recovery's own is a person's.</summary>
    public void NoteCommand(ulong id, AxisCommandKind kind)
    {
        if (_command?.Id == id)
        {
            return;
        }

        // The ports are ahead of this step: an axis that stands ready has come back, though the end of its command is told only now.
        if (_state == RecoveryState.Returning && view[axis] is { State: AxisState.Ready, CommandId: 0 })
        {
            Succeed(Returned());
        }

        Cancel("the axis was given a command");
        if (kind is AxisCommandKind.Reset or AxisCommandKind.Home)
        {
            reduced.Lift(axis);
        }
    }

    /// <summary>The coordinator itself stopped the axis for the sake of a command that failed elsewhere.</summary>
    public void NoteOwnStop(int epoch)
    {
        if (unchecked(_epoch + 1) == epoch)
        {
            _epoch = epoch;
        }
    }

    public void Cancel(string why)
    {
        if (IsActive)
        {
            Tell(RecoveryChange.Cancelled, $"cancelled: {why}");
            End();
        }
    }

    public void Step()
    {
        if (!IsActive || IsCancelled())
        {
            return;
        }

        switch (_state)
        {
            case RecoveryState.Waiting:
                Wait();
                break;
            case RecoveryState.Resetting when _command!.Answer is { } answer:
                AfterReset(answer);
                break;
            case RecoveryState.Approach:
                Approach();
                break;
            case RecoveryState.Returning when _command!.Answer is { } answer:
                AfterReturn(answer);
                break;
            default:
                break;
        }
    }

    /// <summary>It has not passed the place since, also not since an earlier run.</summary>
    private bool IsStillSlowSince(double position) => reduced.PlaceOf(axis) is { } place && _places.IsSame(place, position);

    private void Begin(RecoveryDefinition rule, FaultEntry fault, AxisState before)
    {
        var budget = _budgets[rule];
        if (budget.IsUsedUp(view.Now))
        {
            Tell(RecoveryChange.GivenUp, rule, fault.Code, $"given up: {fault.Name} came again after {rule.Attempts} attempts within {rule.Within.TotalSeconds:0.#} s; reset it by hand");
            return;
        }

        // Where somebody opened an interlock, somebody is about; what follows its reset is for that person to command.
        if (OpenedInterlock() is { } open)
        {
            Tell(RecoveryChange.NotBegun, rule, fault.Code, $"not begun after {fault.Name}: {InterlockTexts.Condition(open)}");
            return;
        }

        (_rule, _budget, _after) = (rule, budget, fault.Code);
        _action = before is AxisState.Ready or AxisState.Moving or AxisState.Homing ? rule.Then : RecoveryAction.Reset;
        _action = view.Board.Latch.IsLocked(axis) ? RecoveryAction.Reset : _action;
        _limitedBy = null;
        (_begunAt, _epoch, _openings) = (view.Now, view.Board.Latch.StopEpoch(axis), Openings());
        EnterWaiting();
        Tell(RecoveryChange.Begun, $"begun after {fault.Name}: {Plan(fault)}, attempt {budget.Made(view.Now) + 1} of {rule.Attempts}");
    }

    private bool IsCancelled()
    {
        if (view.Board.Latch.StopEpoch(axis) != _epoch)
        {
            Cancel("the axis was told to stop");
        }
        else if (Openings() != _openings)
        {
            Cancel(OpenedInterlock() is { } open ? InterlockTexts.Condition(open) : "an interlock was opened");
        }

        return !IsActive;
    }

    private void Give(RecoveryState next, MachineCommand command)
    {
        var epochs = new int[view.Axes.Length];
        epochs[axis] = _epoch;
        _command = new PendingCommand(inbox.NextId(), command, "recovery", epochs);
        _state = next;
        commands.Begin(_command);
    }

    private void EnterWaiting()
    {
        _state = RecoveryState.Waiting;
        _goodSince = null;
        _command = null;
    }

    private void Succeed(string how)
    {
        Tell(RecoveryChange.Succeeded, $"succeeded: {how}");
        End();
    }

    private void GiveUp(string why)
    {
        Tell(RecoveryChange.GivenUp, $"given up: {why}");
        End();
    }

    private void Tell(RecoveryChange change, string what) => Tell(change, _rule!, _after, what);

    private void Tell(RecoveryChange change, RecoveryDefinition rule, FaultCode after, string what) =>
        journal.Recovery(new RecoveryNote(axis, after, change, _budgets[rule].Made(view.Now), rule.Attempts, what, view.Now)
        {
            Action = IsActive ? _action : rule.Then,
        });

    private void End()
    {
        _state = RecoveryState.Idle;
        (_rule, _budget) = (null, null);
        _command = null;
    }

    private string Plan(FaultEntry fault)
    {
        var what = _action switch
        {
            RecoveryAction.Reset => "reset",
            RecoveryAction.ResetAndHome when _definition.Homing is not null => "reset and home",
            _ => "reset and enable",
        };
        var speed = fault.Class == FaultClass.Following
            ? $", then move at {Sentences.Number(_rule!.SpeedPercent)} % of the speed asked for until it has come past this place"
            : "";
        return $"will {what} once the drive answers and its interlocks are closed and reset{speed}";
    }

    private int Openings()
    {
        var count = 0;
        foreach (var interlock in interlocks.Of(axis))
        {
            count += interlock.RealOpenings;
        }

        return count;
    }

    private InterlockMonitor? StandingInterlock()
    {
        foreach (var interlock in interlocks.Of(axis))
        {
            if (interlock.IsStanding)
            {
                return interlock;
            }
        }

        return null;
    }

    private InterlockMonitor? OpenedInterlock()
    {
        foreach (var interlock in interlocks.Of(axis))
        {
            if (interlock.HasOpened)
            {
                return interlock;
            }
        }

        return null;
    }
}

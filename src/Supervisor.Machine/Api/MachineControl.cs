using Supervisor.Configuration.Machines;
using Supervisor.Machine.Commands;
using Supervisor.Machine.Modes;
using Supervisor.Machine.OwnAlarms;
using Supervisor.Machine.Watching;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime;
using Supervisor.Runtime.Messaging;
using Supervisor.Runtime.Parameters;

namespace Supervisor.Machine.Api;

/// <summary>The door between threads that may wait (API, routines) and the coordinator, which may not. Thread-safe.</summary>
/// <remarks>Its lock makes many submitting threads one; the coordinator never takes it while it runs, and a stop never does.</remarks>
public sealed class MachineControl
{
    private readonly Lock _edge = new();
    private readonly MachineBoard _board;
    private readonly CommandInbox _inbox;
    private readonly StatusBoard _status;
    private readonly Func<AlarmList> _alarms;
    private AuthorityGrant? _current;

    internal MachineControl(MachineBoard board, CommandInbox inbox, StatusBoard status, Func<AlarmList> alarms)
    {
        _alarms = alarms;
        _board = board;
        _inbox = inbox;
        _status = status;
    }

    /// <summary>The machine that is supervised.</summary>
    public MachineDefinition Machine => _board.Machine;

    /// <summary>A fresh copy of the machine's status; never blocks on the coordinator.</summary>
    public MachineStatus Status() => _status.Read(Volatile.Read(ref _current)?.Holder);

    /// <summary>All alarms that are not normal; never blocks on the coordinator.</summary>
    public AlarmList Alarms => _alarms();

    /// <summary>Asks for the right to command motion. One holder at a time.</summary>
    /// <param name="holder">Name of a person or program, shown to others.</param>
    /// <param name="refusal"><see cref="Refusal.AuthorityHeldByAnother"/> with the holder's name in the message, <see cref="Refusal.ShuttingDown"/>, or null.</param>
    /// <returns>The grant, or null when refused.</returns>
    public AuthorityGrant? TryAcquire(string holder, out CommandAnswer? refusal)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(holder);
        lock (_edge)
        {
            refusal = _inbox.IsShuttingDown ? Refused(0, Refusal.ShuttingDown, Sentences.ShuttingDown)
                : _current is { } current ? Refused(0, Refusal.AuthorityHeldByAnother, Sentences.HeldBy(current.Holder))
                : null;
            if (refusal is not null)
            {
                return null;
            }

            var grant = new AuthorityGrant(this, holder);
            Volatile.Write(ref _current, grant);
            return grant;
        }
    }

    /// <summary>What the counters of the machine file are at.</summary>
    internal IReadOnlyList<SnapshotCell<CounterNote>> Counters { get; init; } = [];

    /// <summary>What a counter is at.</summary>
    /// <param name="counter">Index in the machine file.</param>
    public long Count(int counter) => Counters[counter].Read().Count;

    /// <summary>Submits a command. Only <see cref="StopCommand"/>, <see cref="HaltCommand"/> and each <see cref="UnheldCommand"/> need no grant.</summary>
    /// <remarks>A stop or halt is in the latch before this returns, whatever waits in the queue. <see cref="CommandTicket.Accepted"/> of a homing in several steps ends with the first step's axes.</remarks>
    public CommandTicket Submit(MachineCommand command, AuthorityGrant? grant)
    {
        ArgumentNullException.ThrowIfNull(command);
        return command switch
        {
            StopCommand stop => Stop(stop, stop.Axes, grant),
            HaltCommand halt => Stop(halt, halt.Axes, grant),

            // To run at no velocity is to come to rest: it goes the way of a halt, which waits for nothing.
            MoveCommand { Targets.Count: > 0 } rest when rest.Targets.All(static target => target is { WithoutEnd: true, Value: 0 }) =>
                Submit(new HaltCommand([.. rest.Targets.Select(static target => target.Axis)]), grant),
            _ => Enqueue(command, grant),
        };
    }

    /// <summary>Presses a jog button. Refresh it at least every 250 ms, release it in the end.</summary>
    /// <remarks>A later press of the same axis takes the place of an earlier one.</remarks>
    public JogPress Jog(JogCommand jog, AuthorityGrant? grant)
    {
        ArgumentNullException.ThrowIfNull(jog);
        var ticket = Submit(jog, grant);
        return new JogPress(ticket, jog.Axis >= 0 && jog.Axis < _board.Jogs.Count ? _board.Jogs[jog.Axis] : null);
    }

    /// <summary>Takes authority from a holder that did not refresh it in time. To be called a few times a second; any thread.</summary>
    public void LapseOverdue(TimeSpan now)
    {
        if (Machine.Authority.RefreshWithin is { } within && Volatile.Read(ref _current) is { } grant && grant.IsOverdue(now, within))
        {
            Lose(grant);
            grant.Lapse();
        }
    }

    internal void Lose(AuthorityGrant grant)
    {
        var mayFinish = Machine.Authority.OnLapse == LapseAction.Finish && _status.Mode == MachineMode.Production;
        Release(grant, command => !mayFinish || command.NeedsHolder);
    }

    /// <summary>What is known of a parameter of an axis's drive, without asking the drive.</summary>
    /// <param name="axis">Index of the axis.</param>
    /// <param name="parameter">Index in its drive definition's parameters.</param>
    public ParameterSnapshot Parameter(int axis, int parameter) => _board.Parameters[axis].Known[parameter].Read();

    /// <summary>Why a job would not be posted now; null when nothing is against it.</summary>
    public CommandAnswer? ObjectionTo(int axis, ParameterJob job, AuthorityGrant? grant)
    {
        ArgumentNullException.ThrowIfNull(job);
        lock (_edge)
        {
            return JobObjection(axis, job, grant);
        }
    }

    /// <summary>
    /// Gives an axis's drive parameters to read or write. The job then ends by itself; whether the axis took it is in its state, and why not in <see cref="RefusalOf"/>.
    /// </summary>
    /// <param name="axis">Index of the axis.</param>
    /// <param name="job">What to read or write.</param>
    /// <param name="grant">Needed to write only.</param>
    /// <returns>Why it was not posted; null when it was.</returns>
    public CommandAnswer? Post(int axis, ParameterJob job, AuthorityGrant? grant)
    {
        ArgumentNullException.ThrowIfNull(job);
        lock (_edge)
        {
            return JobObjection(axis, job, grant) ?? (_board.Parameters[axis].TryPost(job) ? null : RefusalOf(axis, Refusal.ParametersInUse));
        }
    }

    private CommandAnswer? JobObjection(int axis, ParameterJob job, AuthorityGrant? grant)
    {
        if (_inbox.IsShuttingDown)
        {
            return Refused(0, Refusal.ShuttingDown, Sentences.ShuttingDown);
        }

        if (job.Writes && Objection(0, grant) is { } objection)
        {
            return objection;
        }

        return job.Writes && !ModeTable.Permits(_status.Mode, ModeAct.WriteParameters)
            ? Refused(
                0, Refusal.NotInThisMode, $"drive parameters are not written in {ModeDesk.Name(_status.Mode)} mode: choose the maintenance mode first") with { Axis = axis }
            : null;
    }

    /// <summary>A job's refusal in words.</summary>
    public CommandAnswer RefusalOf(int axis, Refusal reason)
    {
        var name = Machine.Axes[axis].Name;
        var message = reason switch
        {
            Refusal.AxisOffline => $"{name}: its drive does not answer: check its supply and its line, then try again",
            Refusal.ParametersInUse => $"{name}: its drive's parameters are being read, written or compared just now: wait until that has ended",
            Refusal.NotDisabled => $"{name} is not disabled: its drive's parameters are read and written only without torque; disable {name} first",
            Refusal.InvalidArgument => $"{name}: another drive answers than the one that is meant: read its parameters anew",
            _ => $"{name} could not take it ({reason}): look at its state, then try again",
        };
        return Refused(0, reason, message) with { Axis = axis };
    }

    internal void Release(AuthorityGrant grant, bool stopAxes) => Release(grant, command => stopAxes || command.NeedsHolder);

    private void Release(AuthorityGrant grant, Func<PendingCommand, bool> stops)
    {
        lock (_edge)
        {
            if (_current != grant)
            {
                return;
            }

            // Halted here and not by the coordinator, so that the next holder's commands read stop counts that already include it.
            foreach (var command in grant.Commands)
            {
                if (command.Moves && command.Answer is null && stops(command))
                {
                    command.Abandon();
                    HaltAxesOf(command);
                }
            }

            Volatile.Write(ref _current, null);
        }
    }

    /// <summary>Ends what still waits; later submissions are refused at once. Only when the coordinator no longer steps.</summary>
    internal void Close()
    {
        lock (_edge)
        {
            _inbox.Close();
        }
    }

    private static CommandAnswer Refused(ulong id, Refusal reason, string message) =>
        new(id, Outcome.Refused, reason, FaultCode.None, -1, message, null);

    private CommandTicket Stop(MachineCommand command, IReadOnlyList<int> axes, AuthorityGrant? grant)
    {
        var latch = _board.Latch;
        var epochs = new int[_board.Axes.Count];
        for (var axis = 0; axis < epochs.Length; axis++)
        {
            var concerned = axes.Count == 0 || axes.Contains(axis);
            epochs[axis] = !concerned ? latch.StopEpoch(axis) : command is StopCommand ? latch.RequestStop(axis) : latch.RequestHalt(axis);
        }

        var pending = new PendingCommand(_inbox.NextId(), command, grant?.Holder ?? (command as StopCommand)?.By ?? "", epochs);
        pending.Accept();
        _inbox.PostStop(pending);
        return pending.Ticket;
    }

    private CommandTicket Enqueue(MachineCommand command, AuthorityGrant? grant)
    {
        lock (_edge)
        {
            var id = _inbox.NextId();
            var epochs = new int[_board.Axes.Count];
            for (var axis = 0; axis < epochs.Length; axis++)
            {
                epochs[axis] = _board.Latch.StopEpoch(axis);
            }

            var holder = grant?.Holder ?? (command as UnheldCommand)?.By ?? "";
            var pending = new PendingCommand(id, command, holder, epochs) { Verdict = command is UnheldCommand ? null : Objection(id, grant), Standing = _board.Latch.Standing() };
            if (command is JogCommand jog && pending.Verdict is null && jog.Axis >= 0 && jog.Axis < _board.Jogs.Count)
            {
                // Pressed before it is posted: an axis that takes it finds its press, or that it has ended.
                _board.Jogs[jog.Axis].Press(id);
            }

            if (_inbox.IsClosed)
            {
                pending.Refuse(Refusal.ShuttingDown, -1, Sentences.ShuttingDown);
            }
            else if (!_inbox.TryPost(pending))
            {
                pending.Refuse(Refusal.MailboxFull, -1, "the coordinator's queue is full: wait for earlier commands to end, then try again");
            }
            else
            {
                grant?.Track(pending);
            }

            return pending.Ticket;
        }
    }

    private CommandAnswer? Objection(ulong id, AuthorityGrant? grant)
    {
        if (grant is not null && grant == _current)
        {
            return null;
        }

        return _current is { } current
            ? Refused(id, Refusal.AuthorityHeldByAnother, Sentences.HeldBy(current.Holder))
            : Refused(id, Refusal.NoAuthority, "nobody holds authority: acquire it, then give the command again");
    }

    private void HaltAxesOf(PendingCommand command)
    {
        for (var axis = 0; axis < _board.Axes.Count; axis++)
        {
            // Of the commands that move, only a homing may name no axis: it means those that have one.
            var concerned = command.Axes.Length == 0 ? Machine.Axes[axis].Homing is not null : command.Axes.Contains(axis);
            if (concerned)
            {
                _board.Latch.RequestHalt(axis);
            }
        }
    }
}

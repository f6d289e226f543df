using Supervisor.Machine.Api;
using Supervisor.Records.Commands;

namespace Supervisor.Machine.Commands;

/// <summary>A command between its submission and its one end. Made by the thread that submits, ended by the coordinator.</summary>
internal sealed class PendingCommand
{
    // Continuations of a client must never run on the coordinator's thread.
    private readonly TaskCompletionSource<CommandAnswer?> _accepted = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private readonly TaskCompletionSource<CommandAnswer> _completion = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private volatile CommandAnswer? _answer;
    private volatile bool _isAbandoned;
    private bool _isAccepted;

    /// <param name="id">Its id, above 0.</param>
    /// <param name="command">What was asked.</param>
    /// <param name="holder">Who asked, for the journal: the holder of authority, or the name that one without authority came with; empty when not known.</param>
    /// <param name="stopEpochs">Stop count of every axis of the machine at submission; for a stop the counts its own requests made.</param>
    public PendingCommand(ulong id, MachineCommand command, string holder, int[] stopEpochs)
    {
        Id = id;
        Command = command;
        Holder = holder;
        StopEpochs = stopEpochs;
        Axes = AxesOf(command);
        Targets = command is MoveCommand move ? [.. move.Targets] : [];
        Ticket = new CommandTicket(id, _accepted.Task, _completion.Task);
    }

    public ulong Id { get; }

    public MachineCommand Command { get; }

    public string Holder { get; }

    public int[] StopEpochs { get; }

    /// <summary>The axes as submitted: a copy, as a client may still write to its list.</summary>
    public int[] Axes { get; }

    /// <summary>The targets of a move, copied likewise.</summary>
    public MoveTarget[] Targets { get; }

    public CommandTicket Ticket { get; }

    /// <summary>Refusal found at the API's edge, told by the coordinator so that it is journalled in order.</summary>
    public CommandAnswer? Verdict { get; init; }

    /// <summary>Causes of stops that stood at submission, bit by bit as in the latch.</summary>
    public ulong Standing { get; init; }

    /// <summary>True for a command by which axes move, or push, until it ends.</summary>
    public bool Moves => Command is MoveCommand or ContactCommand or HomeCommand or JogCommand or ProveBrakeCommand or ProveTimeoutCommand;

    /// <summary>
    /// True for one by which an axis moves until somebody ends it, or its drive alone does: it is never left without a holder. A move of several axes counts whole, and one that
    /// waits takes the move it waits for with it.
    /// </summary>
    public bool NeedsHolder => Command is JogCommand or ProveTimeoutCommand || Array.Exists(Targets, static target => target.WithoutEnd);

    /// <summary>The answer once it ended. Any thread.</summary>
    public CommandAnswer? Answer => _answer;

    /// <summary>True once its holder gave authority back before it ended. Any thread.</summary>
    public bool IsAbandoned => _isAbandoned;

    /// <summary>Next of the stops posted; see <see cref="CommandInbox"/>.</summary>
    public PendingCommand? NextStop { get; set; }

    public void Abandon() => _isAbandoned = true;

    /// <summary>Tells that every axis concerned has taken it.</summary>
    public void Accept()
    {
        if (!_isAccepted)
        {
            _isAccepted = true;
            _accepted.SetResult(null);
        }
    }

    /// <summary>Ends it. A second end is a bug and throws.</summary>
    public void End(CommandAnswer answer)
    {
        if (Interlocked.CompareExchange(ref _answer, answer, null) is not null)
        {
            throw new InvalidOperationException($"Command {Id} has ended before.");
        }

        // The completion last: whoever is woken by it finds all the rest told.
        if (!_isAccepted)
        {
            _isAccepted = true;
            _accepted.SetResult(answer);
        }

        _completion.SetResult(answer);
    }

    /// <summary>Ends it before it was given to any axis.</summary>
    public void Refuse(Refusal reason, int axis, string message) =>
        End(new CommandAnswer(Id, Outcome.Refused, reason, Records.Faults.FaultCode.None, axis, message, null));

    private static int[] AxesOf(MachineCommand command) => command switch
    {
        EnableCommand enable => [.. enable.Axes],
        DisableCommand disable => [.. disable.Axes],
        HomeCommand home => [.. home.Axes],
        ProveBrakeCommand prove => [.. prove.Axes],
        ProveTimeoutCommand prove => [prove.Axis],
        MoveCommand move => [.. move.Targets.Select(target => target.Axis)],
        ContactCommand contact => [contact.Axis],
        StopCommand stop => [.. stop.Axes],
        HaltCommand halt => [.. halt.Axes],
        JogCommand jog => [jog.Axis],
        ReleaseCommand release => [.. release.Axes],
        ResetCommand reset => [.. reset.Axes],
        UnheldCommand or RaiseAlarmCommand or ClearAlarmCommand or CountCommand or ChooseModeCommand or SwitchPowerCommand or SetOutputCommand { Axis: -1 } => [],
        SetOutputCommand output => [output.Axis],
        _ => throw new ArgumentException($"The machine knows no command of type {command.GetType().Name}.", nameof(command)),
    };
}

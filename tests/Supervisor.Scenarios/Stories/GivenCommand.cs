using Supervisor.Machine.Api;

namespace Supervisor.Scenarios.Stories;

/// <summary>A command as somebody gave it.</summary>
/// <param name="command">What was asked.</param>
/// <param name="ticket">Its ticket.</param>
/// <param name="at">When.</param>
/// <param name="axes">Axes it is about, all of them when it named none.</param>
public sealed class GivenCommand(MachineCommand command, CommandTicket ticket, TimeSpan at, int[] axes)
{
    public MachineCommand Command { get; } = command;

    public CommandTicket Ticket { get; } = ticket;

    public TimeSpan At { get; } = at;

    public IReadOnlyList<int> Axes { get; } = axes;

    /// <summary>The answer once it was seen.</summary>
    public CommandAnswer? Answer { get; set; }

    /// <summary>When the answer was seen.</summary>
    public TimeSpan EndedAt { get; set; }

    /// <summary>The button of a jog; null for other commands.</summary>
    public JogPress? Press { get; init; }

    /// <summary>When the button of a jog was last refreshed in time.</summary>
    public TimeSpan RefreshedAt { get; private set; } = at;

    /// <summary>When the button of a jog was let go; null while it is held.</summary>
    public TimeSpan? LetGoAt { get; private set; }

    /// <summary>The button was refreshed; one that had lapsed by then stays lapsed.</summary>
    public void Refreshed(TimeSpan now) => RefreshedAt = LetGoAt is null ? now : RefreshedAt;

    /// <summary>The button was let go.</summary>
    public void LetGo(TimeSpan now) => LetGoAt ??= now;

    /// <summary>True for a command by which torque may come.</summary>
    public bool Energises => Command is EnableCommand or HomeCommand;

    /// <summary>True for a command by which an axis may move; of the proofs those of a brake that gives way.</summary>
    public bool Moves => Command is MoveCommand or ContactCommand or HomeCommand or JogCommand or ProveBrakeCommand;

    /// <summary>True for a command that never arrives: it lasts until something takes its place.</summary>
    public bool RunsWithoutEnd => Command is MoveCommand move && move.Targets.Any(target => target.WithoutEnd);

    public bool Concerns(int axis) => Axes.Contains(axis);

    /// <inheritdoc/>
    public override string ToString() => $"{(Command is ContactCommand or JogCommand ? Command.ToString() : Command.GetType().Name)} {Ticket.Id} [{string.Join(',', Axes)}] given at {At.TotalSeconds:0.000} s";
}

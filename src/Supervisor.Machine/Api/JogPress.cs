using Supervisor.Runtime.Buttons;

namespace Supervisor.Machine.Api;

/// <summary>One press of a jog button. The axis moves only while <see cref="Refresh"/> comes at least every 250 ms; an ended press never moves again.</summary>
/// <remarks>Thread-safe; neither waits for anything.</remarks>
public sealed class JogPress
{
    private readonly JogCell? _cell;

    internal JogPress(CommandTicket ticket, JogCell? cell)
    {
        Ticket = ticket;
        _cell = cell;
    }

    /// <summary>Done when it was released or came to the limit; replaced when it lapsed, was stopped or its enabling input opened.</summary>
    public CommandTicket Ticket { get; }

    /// <summary>Keeps the axis moving; false once the press has ended or another took its place.</summary>
    public bool Refresh() => !Ticket.Completion.IsCompleted && _cell is not null && _cell.Refresh(Ticket.Id);

    /// <summary>Ends the press: the axis halts.</summary>
    public void Release() => _cell?.Release(Ticket.Id);
}

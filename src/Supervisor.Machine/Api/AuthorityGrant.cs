using Supervisor.Machine.Commands;

namespace Supervisor.Machine.Api;

/// <summary>The right to command motion. Disposing it is <c>Release(stopAxes: true)</c>: a holder that is lost takes no motion with it.</summary>
public sealed class AuthorityGrant : IDisposable
{
    private readonly MachineControl _control;
    private readonly List<PendingCommand> _commands = [];

    internal AuthorityGrant(MachineControl control, string holder)
    {
        _control = control;
        Holder = holder;
    }

    /// <summary>Unique per grant; travels in client calls.</summary>
    public Guid Token { get; } = Guid.NewGuid();

    /// <summary>Who holds it.</summary>
    public string Holder { get; }

    /// <summary>Commands given under it that may not have ended. Under the control's lock only.</summary>
    internal IReadOnlyList<PendingCommand> Commands => _commands;

    /// <summary>Gives it back, once; later calls do nothing.</summary>
    /// <param name="stopAxes">True: axes that still move are stopped in order. False: what was accepted runs to its end without a holder.</param>
    public void Release(bool stopAxes) => _control.Release(this, stopAxes);

    /// <inheritdoc/>
    public void Dispose() => Release(stopAxes: true);

    /// <summary>Remembers a command; forgets those that ended. Under the control's lock only.</summary>
    internal void Track(PendingCommand command)
    {
        _commands.RemoveAll(earlier => earlier.Answer is not null);
        _commands.Add(command);
    }
}

using Supervisor.Configuration.Machines;
using Supervisor.Records.Commands;

namespace Supervisor.Machine.Api;

/// <summary>The door between threads that may wait (API, routines) and the coordinator, which may not. Thread-safe.</summary>
public sealed class MachineControl
{
    /// <summary>The machine that is supervised.</summary>
    public MachineDefinition Machine => throw new NotImplementedException();

    /// <summary>A fresh copy of the machine's status; never blocks on the coordinator.</summary>
    public MachineStatus Status() => throw new NotImplementedException();

    /// <summary>Asks for the right to command motion. One holder at a time.</summary>
    /// <param name="holder">Name of a person or program, shown to others.</param>
    /// <param name="refusal"><see cref="Refusal.AuthorityHeldByAnother"/> with the holder's name in the message, or null.</param>
    /// <returns>The grant, or null when refused.</returns>
    public AuthorityGrant? TryAcquire(string holder, out CommandAnswer? refusal) => throw new NotImplementedException();

    /// <summary>Submits a command. Only <see cref="StopCommand"/> needs no grant.</summary>
    public CommandTicket Submit(MachineCommand command, AuthorityGrant? grant) => throw new NotImplementedException();
}

/// <summary>The right to command motion. Disposing it is <c>Release(stopAxes: true)</c>: a holder that is lost takes no motion with it.</summary>
public sealed class AuthorityGrant : IDisposable
{
    /// <summary>Unique per grant; travels in client calls.</summary>
    public Guid Token => throw new NotImplementedException();

    /// <summary>Who holds it.</summary>
    public string Holder => throw new NotImplementedException();

    /// <summary>Gives it back, once; later calls do nothing.</summary>
    /// <param name="stopAxes">True: axes that still move are stopped in order. False: what was accepted runs to its end without a holder.</param>
    public void Release(bool stopAxes) => throw new NotImplementedException();

    /// <inheritdoc/>
    public void Dispose() => throw new NotImplementedException();
}

using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;

namespace Supervisor.Production.Routines;

/// <summary>The supervised machine, commanded under an authority that whoever starts the routine holds.</summary>
/// <param name="control">The machine's door.</param>
/// <param name="grant">The authority. It stays its owner's: the routine does not give it back.</param>
public sealed class ControlledMachine(MachineControl control, AuthorityGrant grant) : IRoutineMachine
{
    /// <inheritdoc/>
    public MachineDefinition Machine => control.Machine;

    /// <inheritdoc/>
    public CommandTicket Submit(MachineCommand command) => control.Submit(command, grant);

    /// <inheritdoc/>
    public MachineStatus Status() => control.Status();
}

using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;

namespace Supervisor.Production.Routines;

/// <summary>What a routine needs of a machine.</summary>
public interface IRoutineMachine
{
    /// <summary>The machine that is supervised.</summary>
    MachineDefinition Machine { get; }

    /// <summary>Submits a command. The ticket's tasks never fault.</summary>
    CommandTicket Submit(MachineCommand command);

    /// <summary>A fresh copy of the machine's status.</summary>
    MachineStatus Status();
}

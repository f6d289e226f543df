namespace Supervisor.Machine;

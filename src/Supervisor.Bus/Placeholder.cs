namespace Supervisor.Bus;

namespace Supervisor.Production;

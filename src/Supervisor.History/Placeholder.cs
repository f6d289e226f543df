namespace Supervisor.History;

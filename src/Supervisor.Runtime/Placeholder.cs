namespace Supervisor.Runtime;

namespace Supervisor.Motion;

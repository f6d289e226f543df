namespace Supervisor.Configuration;

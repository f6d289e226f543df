namespace Supervisor.Drives;

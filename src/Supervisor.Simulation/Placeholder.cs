namespace Supervisor.Simulation;

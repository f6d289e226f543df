namespace Supervisor.Benchmarks.Rig;

/// <summary>An axis has a fault: the computer stood still for longer than the supervisor grants a drive.</summary>
internal sealed class DisturbedException(string message) : Exception(message);

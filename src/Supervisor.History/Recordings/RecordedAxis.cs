namespace Supervisor.History.Recordings;

/// <summary>An axis as a recording names it: enough to read the samples without the machine file of that day.</summary>
/// <param name="Name">Name of the axis.</param>
/// <param name="Unit">Its unit.</param>
/// <param name="Port">Name of its port.</param>
/// <param name="Cycle">The port's cycle: one sample each.</param>
/// <param name="CountsPerUnit">Counts of the drive per unit: what positions are kept to. 0: not known.</param>
/// <param name="Inputs">Names of its inputs, bit 0 first.</param>
public sealed record RecordedAxis(string Name, string Unit, string Port, TimeSpan Cycle, double CountsPerUnit, IReadOnlyList<string> Inputs);

namespace Supervisor.Scenarios.Stories;

/// <summary>What one story is made of.</summary>
/// <param name="Seed">Decides everything.</param>
/// <param name="Length">Simulated time.</param>
/// <param name="Axes">Axes of the machine.</param>
public sealed record StoryOptions(ulong Seed, TimeSpan Length, int Axes);

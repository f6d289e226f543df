namespace Supervisor.Scenarios.Stories;

/// <summary>What one story is made of.</summary>
/// <param name="Seed">Decides everything.</param>
/// <param name="Length">Simulated time.</param>
/// <param name="Axes">Axes of the machine.</param>
/// <param name="Scope">What the machine has.</param>
public sealed record StoryOptions(ulong Seed, TimeSpan Length, int Axes, StoryScope Scope = StoryScope.Machine);

/// <summary>What the machine of a story has.</summary>
public enum StoryScope
{
    /// <summary>Axes and interlocks. Seeds that found bugs in such stories stay what they were found as, whatever the other scope gains.</summary>
    Axes = 0,

    /// <summary>All there is: proofs of brakes, sets of parameters, locked drives, outputs, modules, zones as well.</summary>
    Machine = 1,
}

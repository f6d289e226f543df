using Supervisor.Simulation.Plant;

namespace Supervisor.Scenarios.Stories;

/// <summary>Seeded chance in the words of a story.</summary>
public sealed class Dice(ulong seed)
{
    private readonly SeededDraw _draw = new(seed);

    /// <summary>True with a chance from 0 to 1.</summary>
    public bool Chance(double chance) => _draw.NextFraction() < chance;

    /// <summary>A number between two.</summary>
    public double Between(double low, double high) => low + ((high - low) * _draw.NextFraction());

    /// <summary>A whole number from 0 up to, not including, a bound.</summary>
    public int Below(int bound) => _draw.NextBelow(bound);

    /// <summary>A time between two, seconds.</summary>
    public TimeSpan Seconds(double low, double high) => TimeSpan.FromSeconds(Between(low, high));

    /// <summary>The wait for the next of things that come at random, <paramref name="mean"/> apart in the long run.</summary>
    public TimeSpan Wait(TimeSpan mean) => mean * -Math.Log(1 - _draw.NextFraction());

    /// <summary>One of several.</summary>
    public T Pick<T>(IReadOnlyList<T> of) => of[Below(of.Count)];

    /// <summary>Some of so many: at least one.</summary>
    public int[] Some(int of)
    {
        var chosen = Enumerable.Range(0, of).Where(_ => Chance(0.4)).ToArray();
        return chosen.Length > 0 ? chosen : [Below(of)];
    }

    /// <summary>The next 64 bits.</summary>
    public ulong Next() => _draw.Next();
}

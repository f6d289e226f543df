using System.Text;

namespace Supervisor.Simulation.Plant;

/// <summary>A small seeded generator (splitmix64): the same seed gives the same machine, the same faults and the same bytes on every platform.</summary>
public sealed class SeededDraw(ulong seed)
{
    private ulong _state = seed;

    /// <summary>A generator that depends on a seed and a name, so that drives of one machine differ and each stays the same.</summary>
    public static SeededDraw For(ulong seed, string name)
    {
        // FNV-1a, 64 bit.
        ulong hash = 14695981039346656037;
        foreach (byte b in Encoding.UTF8.GetBytes(name))
        {
            hash = (hash ^ b) * 1099511628211;
        }

        return new SeededDraw(hash ^ (seed * 0x9E3779B97F4A7C15));
    }

    /// <summary>The next 64 bits.</summary>
    public ulong Next()
    {
        ulong z = _state += 0x9E3779B97F4A7C15;
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EB;
        return z ^ (z >> 31);
    }

    /// <summary>The next number from 0 up to, not including, 1.</summary>
    public double NextFraction() => (Next() >> 11) * (1.0 / (1UL << 53));

    /// <summary>The next whole number from 0 up to, not including, <paramref name="bound"/> (above 0).</summary>
    public int NextBelow(int bound) => (int)(Next() % (ulong)bound);
}

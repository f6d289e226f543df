namespace Supervisor.Scenarios.World;

/// <summary>A digest of every frame and its time: two runs with the same one did the same on every wire. FNV-1a, 64 bit; no protection against intent.</summary>
public sealed class FrameTrace
{
    private ulong _hash = 14695981039346656037;

    /// <summary>Adds a frame.</summary>
    public void Add(TimeSpan at, int port, ReadOnlySpan<byte> bytes)
    {
        var hash = Mix(Mix(_hash, (ulong)at.Ticks), (ulong)port);
        foreach (var b in bytes)
        {
            hash = Mix(hash, b);
        }

        _hash = hash;
    }

    /// <inheritdoc/>
    public override string ToString() => _hash.ToString("x16");

    private static ulong Mix(ulong hash, ulong value) => (hash ^ value) * 1099511628211;
}

using System.Numerics;
using System.Runtime.CompilerServices;

namespace Supervisor.Records.Tracing;

/// <summary>How many samples a port's ring holds, and what that costs.</summary>
public static class TraceMemory
{
    /// <summary>Most that the rings of a machine may take, bytes: a thirty-second part of a board with 512 MB.</summary>
    public const long MaximumBytes = 16 * 1024 * 1024;

    /// <summary>
    /// How much longer than the time before an event a ring holds: a stop is told when it has ended, and who keeps the samples is an ordinary thread that may wait
    /// for its turn.
    /// </summary>
    public static readonly TimeSpan Reserve = TimeSpan.FromSeconds(5);

    private const int Least = 256;
    private const int Most = 1 << 24;

    /// <summary>Bytes of one sample in its ring, its number included.</summary>
    public static int BytesPerSample => Unsafe.SizeOf<TraceSample>() + sizeof(long);

    /// <summary>Samples of a ring, a power of two. A quarter is added for second exchanges within a cycle.</summary>
    /// <param name="axes">Axes of the port, 0 or more.</param>
    /// <param name="cycle">Its cycle, above 0.</param>
    /// <param name="before">Time before an event that is kept.</param>
    public static int Samples(int axes, TimeSpan cycle, TimeSpan before)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(axes);
        ArgumentOutOfRangeException.ThrowIfLessThanOrEqual(cycle, TimeSpan.Zero);
        var wanted = (before + Reserve) / cycle * axes * 1.25;
        return (int)BitOperations.RoundUpToPowerOf2((uint)Math.Clamp(wanted, Least, Most));
    }

    /// <summary>Bytes of a ring of that many samples.</summary>
    public static long Bytes(int samples) => (long)samples * BytesPerSample;
}

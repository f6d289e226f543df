using System.Numerics;

namespace Supervisor.Records.Tracing;

/// <summary>
/// The last samples of one port: one thread writes and never waits, any number of readers copy behind it, each at its own
/// pace, and are told what they lost. Memory is taken once; writing and reading allocate nothing.
/// </summary>
/// <remarks>
/// Every slot carries the number of the sample it holds, odd while it is being written. A reader copies and looks at the
/// number again: when it changed, the copy may be torn and is thrown away (a sequence lock).
/// </remarks>
public sealed class TraceRing
{
    private readonly Slot[] _slots;
    private readonly long _mask;
    private long _written;

    /// <param name="minimumCapacity">Samples kept, 2 to 2^24; rounded up to a power of two.</param>
    /// <exception cref="ArgumentOutOfRangeException">The capacity is out of range.</exception>
    public TraceRing(int minimumCapacity)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(minimumCapacity, 2);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(minimumCapacity, 1 << 24);
        _slots = new Slot[(int)BitOperations.RoundUpToPowerOf2((uint)minimumCapacity)];
        _mask = _slots.Length - 1;
    }

    /// <summary>Samples kept.</summary>
    public int Capacity => _slots.Length;

    /// <summary>Samples written since the ring was made.</summary>
    public long Written => Volatile.Read(ref _written);

    /// <summary>Writes a sample over the oldest one. Only ever called by one thread.</summary>
    public void Write(in TraceSample sample)
    {
        var number = _written;
        ref var slot = ref _slots[number & _mask];
        slot.Stamp = Stamp(number) - 1;
        Volatile.WriteBarrier();
        slot.Sample = sample;
        Volatile.Write(ref slot.Stamp, Stamp(number));
        Volatile.Write(ref _written, number + 1);
    }

    /// <summary>A reader that begins with the oldest sample still held.</summary>
    public TraceReader ReadFromOldest() => new(this, Math.Max(0, Written - Capacity));

    /// <summary>A reader that begins with the next sample to be written.</summary>
    public TraceReader ReadFromNow() => new(this, Written);

    /// <summary>Copies the sample of that number; false when it is not written yet or no longer held.</summary>
    internal bool TryCopy(long number, out TraceSample sample)
    {
        ref var slot = ref _slots[number & _mask];
        if (Volatile.Read(ref slot.Stamp) != Stamp(number))
        {
            sample = default;
            return false;
        }

        sample = slot.Sample;
        Volatile.ReadBarrier();
        return slot.Stamp == Stamp(number);
    }

    // Even and never 0, which is what an untouched slot holds.
    private static long Stamp(long number) => (number + 1) * 2;

    private struct Slot
    {
        public long Stamp;
        public TraceSample Sample;
    }
}

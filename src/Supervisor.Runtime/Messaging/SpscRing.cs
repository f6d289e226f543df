namespace Supervisor.Runtime.Messaging;

/// <summary>A bounded queue from one writing thread to one reading thread, without locks and without allocation.</summary>
public sealed class SpscRing<T>
    where T : struct
{
    private readonly T[] _slots;
    private readonly int _mask;
    private long _written;
    private long _read;

    /// <param name="capacity">Slots; a power of two.</param>
    public SpscRing(int capacity)
    {
        ArgumentOutOfRangeException.ThrowIfNotEqual(int.IsPow2(capacity), true, nameof(capacity));
        _slots = new T[capacity];
        _mask = capacity - 1;
    }

    /// <summary>Puts a value in; false when the ring is full, and then nothing changed. Writing thread only.</summary>
    public bool TryWrite(in T value)
    {
        var written = _written;
        if (written - Volatile.Read(ref _read) >= _slots.Length)
        {
            return false;
        }

        _slots[written & _mask] = value;
        Volatile.Write(ref _written, written + 1);
        return true;
    }

    /// <summary>Takes the oldest value out; false when there is none. Reading thread only.</summary>
    public bool TryRead(out T value)
    {
        var read = _read;
        if (read == Volatile.Read(ref _written))
        {
            value = default;
            return false;
        }

        value = _slots[read & _mask];
        Volatile.Write(ref _read, read + 1);
        return true;
    }

    /// <summary>Free slots as the writing thread may rely on them.</summary>
    public int Free => _slots.Length - (int)(_written - Volatile.Read(ref _read));
}

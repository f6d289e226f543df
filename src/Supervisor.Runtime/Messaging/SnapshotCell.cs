namespace Supervisor.Runtime.Messaging;

/// <summary>The latest value of one writing thread, readable whole from any thread without a lock.</summary>
/// <remarks>A sequence count is odd while a write is under way; a reader that saw it odd or changed reads again.</remarks>
public sealed class SnapshotCell<T>
    where T : unmanaged
{
    private T _value;
    private long _sequence;

    /// <summary>Replaces the value. One thread only.</summary>
    public void Write(in T value)
    {
        var sequence = _sequence;
        Volatile.Write(ref _sequence, sequence + 1);
        Interlocked.MemoryBarrier();
        _value = value;
        Volatile.Write(ref _sequence, sequence + 2);
    }

    /// <summary>A whole copy of the value.</summary>
    public T Read()
    {
        var spin = default(SpinWait);
        while (true)
        {
            var before = Volatile.Read(ref _sequence);
            if ((before & 1) == 0)
            {
                var copy = _value;
                Interlocked.MemoryBarrier();
                if (Volatile.Read(ref _sequence) == before)
                {
                    return copy;
                }
            }

            spin.SpinOnce();
        }
    }
}

namespace Supervisor.Records.Tracing;

/// <summary>One reader's place in a <see cref="TraceRing"/>. Used by one thread at a time; never disturbs the writer.</summary>
public sealed class TraceReader
{
    private readonly TraceRing _ring;

    internal TraceReader(TraceRing ring, long next)
    {
        _ring = ring;
        Next = next;
    }

    /// <summary>Number of the sample that is read next, from 0.</summary>
    public long Next { get; private set; }

    /// <summary>Samples that were overwritten before this reader came to them, since it was made.</summary>
    public long Lost { get; private set; }

    /// <summary>Reads the next samples in the order they were written.</summary>
    /// <param name="destination">Filled from its start.</param>
    /// <param name="lost">Samples missing before the first one returned, because the writer overtook this reader; there is no gap inside what is returned.</param>
    /// <returns>How many were read; 0 when there is nothing new.</returns>
    public int Read(Span<TraceSample> destination, out long lost)
    {
        lost = 0;
        var count = 0;
        while (count < destination.Length && Next < _ring.Written)
        {
            if (_ring.TryCopy(Next, out destination[count]))
            {
                count++;
                Next++;
                continue;
            }

            if (count > 0)
            {
                break;
            }

            lost += Skip();
        }

        Lost += lost;
        return count;
    }

    // The slot being overwritten next is not worth a try: begin one behind the oldest.
    private long Skip()
    {
        var oldest = Math.Max(Next + 1, _ring.Written - _ring.Capacity + 1);
        var skipped = oldest - Next;
        Next = oldest;
        return skipped;
    }
}

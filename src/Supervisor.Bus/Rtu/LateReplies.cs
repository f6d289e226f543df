namespace Supervisor.Bus.Rtu;

/// <summary>Requests that went unanswered and whose replies may still come: each shape with the time after which it is given up.</summary>
internal sealed class LateReplies
{
    private Entry[] _entries = new Entry[16];
    private int _count;

    /// <summary>Remembers a shape until <paramref name="until"/>; one that is known already is kept to the later of both times.</summary>
    public void Add(in ReplyShape shape, TimeSpan until)
    {
        for (var i = 0; i < _count; i++)
        {
            if (_entries[i].Shape == shape)
            {
                _entries[i].Until = until > _entries[i].Until ? until : _entries[i].Until;
                return;
            }
        }

        if (_count == _entries.Length)
        {
            // Only many short time-outs inside one long window come here; dropping one would let its reply pass for another's.
            Array.Resize(ref _entries, 2 * _count);
        }

        _entries[_count++] = new Entry { Shape = shape, Until = until };
    }

    /// <summary>Time until which a reply of this shape may still come; zero when none may.</summary>
    public TimeSpan Until(in ReplyShape shape)
    {
        for (var i = 0; i < _count; i++)
        {
            if (_entries[i].Shape == shape)
            {
                return _entries[i].Until;
            }
        }

        return TimeSpan.Zero;
    }

    /// <summary>Forgets what can no longer come.</summary>
    public void Expire(TimeSpan now)
    {
        for (var i = _count - 1; i >= 0; i--)
        {
            if (_entries[i].Until <= now)
            {
                Remove(i);
            }
        }
    }

    /// <summary>
    /// Holds received bytes against every awaited late reply. A whole one is forgotten, since a request is answered once, and told as a frame;
    /// incomplete when the bytes may still become one; else invalid.
    /// </summary>
    public Decoded Take(ReadOnlySpan<byte> received)
    {
        var best = Decoded.Invalid(FrameFault.WrongUnit);
        for (var i = 0; i < _count; i++)
        {
            var decoded = RtuDecoder.Reply(received, _entries[i].Shape);
            if (decoded.State == DecodeState.Frame)
            {
                Remove(i);
                return decoded;
            }

            best = decoded.State == DecodeState.Incomplete ? decoded : best;
        }

        return best;
    }

    private void Remove(int index) => _entries[index] = _entries[--_count];

    private struct Entry
    {
        public ReplyShape Shape;
        public TimeSpan Until;
    }
}

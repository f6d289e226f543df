using Supervisor.Records.Tracing;

namespace Supervisor.History.Recordings.Cutting;

/// <summary>Follows one port's ring and never reads past the recording's end, as that may still move.</summary>
internal sealed class RingFollower
{
    private readonly TraceReader _reader;
    private readonly TraceSample[] _buffer = new TraceSample[128];
    private int _next;
    private int _count;
    private long _lost;

    public RingFollower(TraceRing ring)
    {
        _reader = ring.ReadFromOldest();
        IsWhole = _reader.Next == 0;
    }

    /// <summary>Nothing was overwritten in it when it was begun with.</summary>
    public bool IsWhole { get; }

    /// <summary>A sample from behind the end is there: everything before it was read.</summary>
    public bool IsPast { get; private set; }

    /// <summary>The next sample up to a time; false when there is none, or only later ones.</summary>
    /// <param name="until">Its time at most.</param>
    /// <param name="sample">The sample.</param>
    /// <param name="lost">Samples of the port that were overwritten before it.</param>
    public bool TryRead(TimeSpan until, out TraceSample sample, out long lost)
    {
        lost = 0;
        if (_next == _count)
        {
            _count = _reader.Read(_buffer, out var overwritten);
            _lost += overwritten;
            _next = 0;
        }

        IsPast = _next < _count && _buffer[_next].At > until;
        sample = _next < _count ? _buffer[_next] : default;
        if (_next == _count || IsPast)
        {
            return false;
        }

        _next++;
        (lost, _lost) = (_lost, 0);
        return true;
    }
}

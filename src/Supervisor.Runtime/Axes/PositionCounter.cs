namespace Supervisor.Runtime.Axes;

/// <summary>Follows a drive's position counter over its wrap, so that an endless axis never jumps.</summary>
public struct PositionCounter
{
    private long _raw;
    private bool _known;

    /// <summary>Steps since the counter was first read, beginning at its value then.</summary>
    public long Counts { get; private set; }

    /// <summary>True once it was read.</summary>
    public readonly bool IsKnown => _known;

    /// <summary>Begins anew with the next reading: the drive may have restarted.</summary>
    public void Forget() => _known = false;

    /// <summary>Takes a reading of a counter of <paramref name="bits"/> bits.</summary>
    public void Take(long raw, int bits)
    {
        if (!_known)
        {
            Counts = raw;
            _known = true;
        }
        else
        {
            Counts += (raw - _raw) << (64 - bits) >> (64 - bits);
        }

        _raw = raw;
    }
}

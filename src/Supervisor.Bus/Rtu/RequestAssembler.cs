namespace Supervisor.Bus.Rtu;

/// <summary>Cuts a stream of bytes into request frames, for a slave behind a pseudo-terminal or a serial line. A step machine: no I/O, no clock.</summary>
/// <remarks>
/// Where the function code tells the length a frame is handed out with its last byte; any other ends with silence. After a bad CRC or an
/// impossible length everything up to the next silence is thrown away, as a slave must: what looks like a frame inside may be another one's data.
/// </remarks>
/// <param name="silence">Time without a byte that ends a frame: 3.5 characters on a wire, some milliseconds where an operating system sits between.</param>
public sealed class RequestAssembler(TimeSpan silence)
{
    private readonly byte[] _buffer = new byte[2 * Transaction.MaximumFrameBytes];
    private int _length;
    private int _taken;
    private bool _lost;
    private TimeSpan _lastByteAt;

    /// <summary>Bytes thrown away since it was made.</summary>
    public long DiscardedBytes { get; private set; }

    /// <summary>When the bytes held must be looked at again though none came; null while none are held.</summary>
    public TimeSpan? SilentAt => _length > _taken || _lost ? _lastByteAt + silence : null;

    /// <summary>Takes bytes that were received at <paramref name="now"/>.</summary>
    public void Add(ReadOnlySpan<byte> bytes, TimeSpan now)
    {
        if (bytes.IsEmpty)
        {
            return;
        }

        DropTaken();
        if (SilentAt <= now)
        {
            DiscardHeld();
        }

        _lastByteAt = now;
        if (_lost || _length + bytes.Length > _buffer.Length)
        {
            DiscardHeld();
            DiscardedBytes += bytes.Length;
            _lost = true;
            return;
        }

        bytes.CopyTo(_buffer.AsSpan(_length));
        _length += bytes.Length;
    }

    /// <summary>Hands out the next whole frame with a good CRC; it is valid until the next call.</summary>
    public bool TryTake(TimeSpan now, out ReadOnlySpan<byte> frame)
    {
        DropTaken();
        var held = _buffer.AsSpan(0, _length);
        var silent = SilentAt <= now;
        var decoded = RtuDecoder.Request(held);
        if (decoded.State == DecodeState.Invalid && decoded.Fault == FrameFault.WrongFunction)
        {
            decoded = EndedBySilence(held, silent);
        }

        if (decoded.State == DecodeState.Frame)
        {
            _taken = decoded.Length;
            frame = held[.._taken];
            return true;
        }

        if (decoded.State == DecodeState.Invalid || silent)
        {
            DiscardHeld();
            _lost = !silent;
        }

        frame = default;
        return false;
    }

    private static Decoded EndedBySilence(ReadOnlySpan<byte> held, bool silent)
    {
        if (!silent)
        {
            return held.Length > Transaction.MaximumFrameBytes ? Decoded.Invalid(FrameFault.TooLong) : Decoded.Incomplete;
        }

        return Crc16.IsIntact(held) ? Decoded.Frame(held.Length) : Decoded.Invalid(FrameFault.BadCrc);
    }

    private void DiscardHeld()
    {
        DiscardedBytes += _length;
        _length = 0;
        _lost = false;
    }

    private void DropTaken()
    {
        _buffer.AsSpan(_taken, _length - _taken).CopyTo(_buffer);
        _length -= _taken;
        _taken = 0;
    }
}

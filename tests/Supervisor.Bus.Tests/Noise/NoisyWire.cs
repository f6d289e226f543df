using Supervisor.Bus.Links;
using Supervisor.Bus.Rtu;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Noise;

/// <summary>
/// A line in simulated time with one slave at its end and bit errors on it, both ways. The slave cuts its requests out of the bytes that arrive, by
/// the silence between frames, as on a wire.
/// </summary>
internal sealed class NoisyWire(LineSettings line, RtuSlave slave, BitErrors errors) : ILink, IMonotonicClock
{
    private static readonly TimeSpan Turnaround = TimeSpan.FromMicroseconds(200);

    private readonly RequestAssembler _assembler = new(line.FrameGap);
    private readonly byte[] _request = new byte[Transaction.MaximumFrameBytes];
    private readonly byte[] _reply = new byte[4 * Transaction.MaximumFrameBytes];
    private readonly byte[] _taken = new byte[Transaction.MaximumFrameBytes];
    private int _replyLength;
    private TimeSpan _replyAt;

    public TimeSpan Now { get; private set; } = TimeSpan.FromSeconds(1);

    /// <summary>Frames sent by either side.</summary>
    public long Frames { get; private set; }

    /// <summary>Calls of the master's driver: what a transaction costs in steps.</summary>
    public long Calls { get; private set; }

    /// <summary>Told of each answer as the slave gives it, before the wire has it.</summary>
    public Action<ReadOnlyMemory<byte>> Answered { get; set; } = _ => { };

    /// <summary>Told of each frame the slave takes for a request.</summary>
    public Action<ReadOnlyMemory<byte>> Taken { get; set; } = _ => { };

    public void WaitUntil(TimeSpan deadline) => Now = deadline > Now ? deadline : Now;

    public LinkStatus Write(ReadOnlySpan<byte> bytes, TimeSpan deadline)
    {
        Calls++;
        Frames++;
        bytes.CopyTo(_request);
        var arrived = Now + line.CharacterTime(bytes.Length);
        _assembler.Add(_request.AsSpan(0, errors.Spoil(_request.AsSpan(0, bytes.Length))), arrived);
        // What ends by silence is looked at after it, the rest at once: both before the master's next frame.
        var at = arrived;
        for (var looks = 0; looks < 2; looks++, at = _assembler.SilentAt ?? at)
        {
            while (_assembler.TryTake(at, out var frame))
            {
                frame.CopyTo(_taken);
                Taken(_taken.AsMemory(0, frame.Length));
                var room = _reply.AsSpan(_replyLength);
                if (room.Length < Transaction.MaximumFrameBytes)
                {
                    continue;
                }

                var length = slave.Answer(frame, room);
                if (length > 0)
                {
                    Frames++;
                    Answered(_reply.AsMemory(_replyLength, length));
                    _replyLength += errors.Spoil(room[..length]);
                    _replyAt = at + Turnaround + line.CharacterTime(_replyLength);
                }
            }
        }

        return LinkStatus.Ok;
    }

    public LinkStatus Read(Span<byte> into, TimeSpan deadline, out int count)
    {
        Calls++;
        count = 0;
        if (_replyLength == 0 || _replyAt > deadline)
        {
            WaitUntil(deadline);
            return LinkStatus.TimedOut;
        }

        WaitUntil(_replyAt);
        count = Math.Min(into.Length, _replyLength);
        _reply.AsSpan(0, count).CopyTo(into);
        _reply.AsSpan(count, _replyLength - count).CopyTo(_reply);
        _replyLength -= count;
        return LinkStatus.Ok;
    }

    public LinkStatus DiscardInput()
    {
        _replyLength = 0;
        return LinkStatus.Ok;
    }

    public void Dispose()
    {
    }
}

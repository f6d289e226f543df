using Supervisor.Bus.Links;

namespace Supervisor.Bus.Rtu;

/// <summary>Answers requests from a link on the calling thread.</summary>
/// <param name="slave">The addresses and their registers.</param>
/// <param name="link">The open link.</param>
/// <param name="clock">The clock the link's deadlines are on.</param>
/// <param name="silence">Time without a byte that ends a frame; see <see cref="RequestAssembler"/>.</param>
public sealed class RtuSlaveDriver(RtuSlave slave, ILink link, IMonotonicClock clock, TimeSpan silence)
{
    private static readonly TimeSpan WriteTimeout = TimeSpan.FromSeconds(1);

    private readonly RequestAssembler _assembler = new(silence);
    private readonly byte[] _input = new byte[Transaction.MaximumFrameBytes];
    private readonly byte[] _reply = new byte[Transaction.MaximumFrameBytes];

    /// <summary>Requests answered or taken as a broadcast.</summary>
    public long Requests { get; private set; }

    /// <summary>
    /// Waits for bytes until <paramref name="until"/> at the latest and answers every request that is whole then.
    /// Call it again for as long as it says <see cref="LinkStatus.Ok"/> or <see cref="LinkStatus.TimedOut"/> (nothing came).
    /// </summary>
    public LinkStatus Step(TimeSpan until)
    {
        var wake = _assembler.SilentAt is { } silentAt && silentAt < until ? silentAt : until;
        var status = link.Read(_input, wake, out var count);
        if (status == LinkStatus.Gone)
        {
            return status;
        }

        _assembler.Add(_input.AsSpan(0, count), clock.Now);
        while (_assembler.TryTake(clock.Now, out var frame))
        {
            Requests++;
            var length = slave.Answer(frame, _reply);
            if (length > 0 && link.Write(_reply.AsSpan(0, length), clock.Now + WriteTimeout) == LinkStatus.Gone)
            {
                return LinkStatus.Gone;
            }
        }

        return status;
    }
}

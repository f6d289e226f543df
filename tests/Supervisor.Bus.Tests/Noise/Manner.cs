using Supervisor.Bus.Rtu;

namespace Supervisor.Bus.Tests.Noise;

/// <summary>How a slave misbehaves.</summary>
public enum Manner
{
    /// <summary>Its answer does not end for ten time-outs, which is for ever to who waits for one.</summary>
    Endless,

    /// <summary>It answers what was asked before.</summary>
    OneBehind,

    /// <summary>Its answer comes byte by byte, slower than the time-out allows.</summary>
    Dribbling,

    /// <summary>It answers under another address.</summary>
    OtherUnit,

    /// <summary>What was sent comes back, as from an RS-485 adapter that hears itself, and no answer.</summary>
    EchoOnly,

    /// <summary>What was sent comes back, and the answer behind it.</summary>
    EchoAndAnswer,
}

/// <summary>What a misbehaving slave puts on the line.</summary>
/// <param name="slave">What a good one would say.</param>
/// <param name="random">Seeded.</param>
internal sealed class HostileSlave(RtuSlave slave, Random random)
{
    private byte[] _before = [];

    public Manner Manner { get; set; }

    public bool IsGood { get; set; }

    /// <summary>Parts of the answer, each so long after the request.</summary>
    /// <param name="request">What was asked.</param>
    /// <param name="timeout">Time-out of the one who asks.</param>
    public IEnumerable<(TimeSpan After, byte[] Bytes)> Answer(byte[] request, TimeSpan timeout)
    {
        var reply = new byte[Transaction.MaximumFrameBytes];
        var good = reply[..slave.Answer(request, reply)];
        var before = _before;
        _before = good;
        if (IsGood)
        {
            return [(timeout / 50, good)];
        }

        return Manner switch
        {
            Manner.Endless => Enumerable.Range(0, 200).Select(part => (timeout * 0.05 * part, part == 0 ? good : Chance(8))),
            Manner.OneBehind => before.Length > 0 ? [(timeout / 50, before)] : [],
            Manner.Dribbling => good.Select((each, at) => (timeout * (0.05 + (0.3 * at)), new[] { each })),
            Manner.OtherUnit => [(timeout / 50, Elsewhere(good))],
            Manner.EchoOnly => [(TimeSpan.Zero, request)],
            _ => [(TimeSpan.Zero, request), (timeout / 50, good)],
        };
    }

    private static byte[] Elsewhere(byte[] reply)
    {
        byte[] other = [(byte)(reply[0] + 1), .. reply[1..]];
        Crc16.Append(other, other.Length - Crc16.Size);
        return other;
    }

    private byte[] Chance(int count)
    {
        var bytes = new byte[count];
        random.NextBytes(bytes);
        return bytes;
    }
}

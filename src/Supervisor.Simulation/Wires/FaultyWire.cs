using Supervisor.Simulation.Plant;

namespace Supervisor.Simulation.Wires;

/// <summary>Chances, each from 0 to 1, of what goes wrong with one transaction.</summary>
/// <param name="LoseRequest">The drive never hears it.</param>
/// <param name="LoseReply">The drive does what it was told, and its answer is lost.</param>
/// <param name="Corrupt">One to three bits of the reply turn round.</param>
/// <param name="Cut">The end of the reply is missing.</param>
/// <param name="Delay">The reply comes late, by up to <paramref name="LongestDelay"/>.</param>
/// <param name="Duplicate">The reply comes twice.</param>
/// <param name="LongestDelay">Longest lateness.</param>
public sealed record WireFaults(
    double LoseRequest, double LoseReply, double Corrupt, double Cut, double Delay, double Duplicate, TimeSpan LongestDelay)
{
    /// <summary>A good wire.</summary>
    public static WireFaults None { get; } = new(0, 0, 0, 0, 0, 0, TimeSpan.Zero);
}

/// <summary>How often each thing went wrong.</summary>
public readonly record struct WireFaultCounts(long LostRequests, long LostReplies, long Corrupted, long Cut, long Delayed, long Duplicated);

/// <summary>A wire that spoils what a line answers. Seeded: the same seed and the same requests give the same bytes.</summary>
/// <param name="line">The line behind it.</param>
/// <param name="faults">What goes wrong, and how often.</param>
/// <param name="seed">Seed; print it with a failing test.</param>
public sealed class FaultyWire(SimulatedLine line, WireFaults faults, ulong seed)
{
    private readonly SeededDraw _draw = new(seed);

    /// <summary>What goes wrong from now on.</summary>
    public WireFaults Faults { get; set; } = faults;

    /// <summary>What went wrong so far.</summary>
    public WireFaultCounts Counts { get; private set; }

    /// <summary>Answers as the line does, then spoils it.</summary>
    /// <param name="request">The frame with its CRC.</param>
    /// <param name="now">When its last byte had come.</param>
    /// <param name="reply">Where the bytes go; at least 512, since a reply may come twice.</param>
    /// <param name="replyAt">When the last byte has come.</param>
    /// <returns>Bytes that come; 0 for silence.</returns>
    public int Answer(ReadOnlySpan<byte> request, TimeSpan now, Span<byte> reply, out TimeSpan replyAt)
    {
        replyAt = now;
        if (Happens(Faults.LoseRequest))
        {
            Counts = Counts with { LostRequests = Counts.LostRequests + 1 };
            line.Advance(now);
            return 0;
        }

        int length = line.Answer(request, now, reply, out replyAt);
        if (length == 0)
        {
            return 0;
        }

        if (Happens(Faults.LoseReply))
        {
            Counts = Counts with { LostReplies = Counts.LostReplies + 1 };
            return 0;
        }

        if (Happens(Faults.Corrupt))
        {
            Counts = Counts with { Corrupted = Counts.Corrupted + 1 };
            TurnBits(reply[..length]);
        }

        if (Happens(Faults.Cut))
        {
            Counts = Counts with { Cut = Counts.Cut + 1 };
            length = 1 + _draw.NextBelow(length - 1);
        }

        if (Happens(Faults.Delay))
        {
            Counts = Counts with { Delayed = Counts.Delayed + 1 };
            replyAt += Faults.LongestDelay * _draw.NextFraction();
        }

        if (Happens(Faults.Duplicate))
        {
            Counts = Counts with { Duplicated = Counts.Duplicated + 1 };
            reply[..length].CopyTo(reply[length..]);
            replyAt += line.Line.CharacterTime(length);
            length *= 2;
        }

        return length;
    }

    private bool Happens(double chance) => _draw.NextFraction() < chance;

    private void TurnBits(Span<byte> bytes)
    {
        int first = _draw.NextBelow(bytes.Length * 8);
        int count = 1 + _draw.NextBelow(3);
        for (int i = 0; i < count; i++)
        {
            int bit = (first + i) % (bytes.Length * 8);
            bytes[bit / 8] ^= (byte)(1 << (bit % 8));
        }
    }
}

namespace Supervisor.Bus.Tests.Noise;

/// <summary>
/// Turns bits of a byte stream round, each with the same chance and by itself. Of a character's ten bits on the wire eight are data; one that turns
/// its start bit loses it, one that turns its stop bit leaves it as it is.
/// </summary>
internal sealed class BitErrors(Random random)
{
    private const int BitsPerCharacter = 10;

    private double _rate;
    private long _left;

    /// <summary>Bits turned round.</summary>
    public long Turned { get; private set; }

    /// <summary>Only data bits turn: nothing is lost, and theory can be compared.</summary>
    public bool DataOnly { get; init; }

    public double Rate
    {
        get => _rate;
        set
        {
            _rate = value;
            _left = Next();
        }
    }

    /// <summary>Spoils bytes in place; fewer may be left.</summary>
    public int Spoil(Span<byte> bytes)
    {
        var bits = DataOnly ? 8 : BitsPerCharacter;
        if (_left >= (long)bits * bytes.Length)
        {
            _left -= (long)bits * bytes.Length;
            return bytes.Length;
        }

        var kept = 0;
        for (var i = 0; i < bytes.Length; i++)
        {
            var (value, isLost) = (bytes[i], false);
            for (; _left < bits; _left += 1 + Next())
            {
                Turned++;
                isLost |= _left == 8;
                value ^= (byte)(_left < 8 ? 1 << (int)_left : 0);
            }

            _left -= bits;
            bytes[kept] = value;
            kept += isLost ? 0 : 1;
        }

        return kept;
    }

    /// <summary>Good bits until the next bad one.</summary>
    private long Next() => _rate <= 0 ? long.MaxValue / 2 : (long)(Math.Log(1 - random.NextDouble()) / Math.Log(1 - _rate));
}

using Supervisor.Bus.Rtu;

namespace Supervisor.Bus.Tests.Noise;

/// <summary>Frames that nobody would send: of chance, or good ones changed. Seeded.</summary>
internal sealed class Mutator(Random random)
{
    private const int Most = 600;

    private readonly byte[] _bytes = new byte[Most];

    /// <summary>Bytes of chance, of a length of chance; often with a head that a decoder looks farther behind.</summary>
    public ReadOnlySpan<byte> OfChance(byte unit, byte function)
    {
        var bytes = _bytes.AsSpan(0, random.Next(random.Next(4) == 0 ? 300 : 24));
        random.NextBytes(bytes);
        if (bytes.Length >= 2 && random.Next(4) > 0)
        {
            (bytes[0], bytes[1]) = (unit, (byte)(random.Next(8) == 0 ? function | 0x80 : function));
        }

        return MaybeWithCrc(bytes);
    }

    /// <summary>A frame with one to three changes: a byte changed, taken out or put in, a bit turned, an end cut off or put on.</summary>
    public ReadOnlySpan<byte> Changed(ReadOnlySpan<byte> frame)
    {
        frame.CopyTo(_bytes);
        var length = frame.Length;
        for (var changes = 1 + random.Next(3); changes > 0; changes--)
        {
            var at = length == 0 ? 0 : random.Next(length);
            switch (random.Next(6))
            {
                case 0 when length > 0:
                    _bytes[at] = (byte)random.Next(256);
                    break;
                case 1 when length > 0:
                    _bytes[at] ^= (byte)(1 << random.Next(8));
                    break;
                case 2 when length > 0:
                    _bytes.AsSpan(at + 1, length - at - 1).CopyTo(_bytes.AsSpan(at));
                    length--;
                    break;
                case 3 when length < Most:
                    _bytes.AsSpan(at, length - at).CopyTo(_bytes.AsSpan(at + 1));
                    _bytes[at] = (byte)random.Next(256);
                    length++;
                    break;
                case 4:
                    var more = Math.Min(random.Next(40), Most - length);
                    random.NextBytes(_bytes.AsSpan(length, more));
                    length += more;
                    break;
                default:
                    length = at;
                    break;
            }
        }

        return MaybeWithCrc(_bytes.AsSpan(0, length));
    }

    /// <summary>Half of them with a CRC that fits, so that what lies behind the check is reached.</summary>
    private ReadOnlySpan<byte> MaybeWithCrc(Span<byte> bytes)
    {
        if (bytes.Length > 2 && random.Next(2) == 0)
        {
            var crc = SlowCrc.Of(bytes[..^2]);
            (bytes[^2], bytes[^1]) = ((byte)crc, (byte)(crc >> 8));
        }

        return bytes;
    }
}

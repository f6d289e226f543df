using System.Buffers.Binary;
using System.Text;

namespace Supervisor.History.Recordings.Coding;

/// <summary>A growing buffer of numbers with seven bits a byte, least first, the eighth telling that more follow; signed ones folded so that small ones stay small.</summary>
internal sealed class ByteWriter
{
    private byte[] _bytes = new byte[256];

    public int Length { get; private set; }

    public ReadOnlySpan<byte> Written => _bytes.AsSpan(0, Length);

    public void Clear() => Length = 0;

    public void Byte(byte value)
    {
        Reserve(1);
        _bytes[Length++] = value;
    }

    public void Unsigned(ulong value)
    {
        Reserve(10);
        while (value >= 0x80)
        {
            _bytes[Length++] = (byte)(value | 0x80);
            value >>= 7;
        }

        _bytes[Length++] = (byte)value;
    }

    public void Signed(long value) => Unsigned((ulong)((value << 1) ^ (value >> 63)));

    public void Real(double value)
    {
        Reserve(8);
        BinaryPrimitives.WriteDoubleLittleEndian(_bytes.AsSpan(Length), value);
        Length += 8;
    }

    public void Text(string text)
    {
        var count = Encoding.UTF8.GetByteCount(text);
        Unsigned((ulong)count);
        Reserve(count);
        Length += Encoding.UTF8.GetBytes(text, _bytes.AsSpan(Length));
    }

    public void Raw(ReadOnlySpan<byte> bytes)
    {
        Reserve(bytes.Length);
        bytes.CopyTo(_bytes.AsSpan(Length));
        Length += bytes.Length;
    }

    private void Reserve(int more)
    {
        if (Length + more > _bytes.Length)
        {
            Array.Resize(ref _bytes, Math.Max(_bytes.Length * 2, Length + more));
        }
    }
}

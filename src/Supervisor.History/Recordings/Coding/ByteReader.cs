using System.Buffers.Binary;
using System.Text;

namespace Supervisor.History.Recordings.Coding;

/// <summary>Reads what a <see cref="ByteWriter"/> wrote. Whatever the bytes are, it ends with <see cref="InvalidDataException"/> or a value.</summary>
internal ref struct ByteReader(ReadOnlySpan<byte> bytes)
{
    private readonly ReadOnlySpan<byte> _bytes = bytes;
    private int _at;

    public readonly bool IsAtEnd => _at >= _bytes.Length;

    public readonly int Left => _bytes.Length - _at;

    public byte Byte() => Take(1)[0];

    public ulong Unsigned()
    {
        var value = 0UL;
        for (var shift = 0; shift < 64; shift += 7)
        {
            var next = Byte();
            value |= (ulong)(next & 0x7F) << shift;
            if (next < 0x80)
            {
                return value;
            }
        }

        throw new InvalidDataException("a number is longer than any can be");
    }

    public long Signed()
    {
        var value = Unsigned();
        return (long)(value >> 1) ^ -(long)(value & 1);
    }

    /// <summary>A count of things that take at least one byte each, so that damage can't ask for more memory than there are bytes.</summary>
    public int Count() => Unsigned() is var count && count <= (ulong)Left ? (int)count : throw new InvalidDataException("a length points behind the end");

    public double Real() => BinaryPrimitives.ReadDoubleLittleEndian(Take(8));

    public string Text() => Encoding.UTF8.GetString(Take(Count()));

    public ReadOnlySpan<byte> Take(int count)
    {
        if (count > Left)
        {
            throw new InvalidDataException("it ends too early");
        }

        var taken = _bytes.Slice(_at, count);
        _at += count;
        return taken;
    }
}

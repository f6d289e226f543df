using System.Buffers.Binary;
using System.Numerics;
using Supervisor.Configuration.Drives;

namespace Supervisor.Drives.Exchange;

/// <summary>Where a field stands among the registers of its list, and how its value is read from and put into them.</summary>
public readonly struct FieldSlot
{
    private readonly int _offset;
    private readonly RegisterType _type;
    private readonly double _scale;
    private readonly bool _lowFirst;
    private readonly bool _swapsBytes;
    private readonly uint _mask;
    private readonly int _shift;
    private readonly int _bits;
    private readonly uint[]? _sentinels;

    internal FieldSlot(int offset, RegisterField field, WireDefinition wire)
    {
        _offset = offset;
        _type = field.Type;
        _scale = field.Scale;
        _lowFirst = wire.WordOrder == WordOrder.LowFirst;
        _swapsBytes = wire.ByteOrder == ByteOrder.LowFirst;
        _mask = field.Mask != 0 ? field.Mask : field.Width == 2 ? uint.MaxValue : ushort.MaxValue;
        _shift = BitOperations.TrailingZeroCount(_mask);
        _bits = field.Bits;
        _sentinels = field.Sentinels.Count > 0 ? [.. field.Sentinels] : null;
        IsDeclared = true;
    }

    /// <summary>False when the definition has no such field; reading then gives 0 and writing does nothing.</summary>
    public bool IsDeclared { get; }

    /// <summary>Offset of the first register.</summary>
    public int Offset => _offset;

    /// <summary>True for a value of two registers.</summary>
    public bool IsWide => _type is RegisterType.U32 or RegisterType.S32;

    /// <summary>Value of one step of the raw number; 1 when undeclared.</summary>
    public double Scale => IsDeclared ? _scale : 1;

    /// <summary>Half of the range in which the raw number counts round, scaled.</summary>
    public double HalfRound => Math.Abs(Scale) * ((1L << (Bits - 1)) - 1);

    /// <summary>Bits of the value as it wraps around.</summary>
    public int Bits => IsDeclared ? _bits : 16;

    /// <summary>The raw bits of the value, its lowest first.</summary>
    public uint Raw(ReadOnlySpan<ushort> registers) => (Whole(registers) & _mask) >> _shift;

    /// <summary>The drive says by this number that it does not know the value.</summary>
    public bool IsSentinel(ReadOnlySpan<ushort> registers) => _sentinels is not null && Array.IndexOf(_sentinels, Raw(registers)) >= 0;

    /// <summary>One bit of its registers, whatever bits carry its value.</summary>
    public bool Bit(ReadOnlySpan<ushort> registers, int bit) => ((Whole(registers) >> bit) & 1) != 0;

    /// <summary>The registers as one number, bits of others with it.</summary>
    internal uint Whole(ReadOnlySpan<ushort> registers)
    {
        if (!IsDeclared)
        {
            return 0;
        }

        var first = (uint)Turned(registers[_offset]);
        if (!IsWide)
        {
            return first;
        }

        var second = (uint)Turned(registers[_offset + 1]);
        return _lowFirst ? (second << 16) | first : (first << 16) | second;
    }

    /// <summary>The raw value with its sign, not scaled.</summary>
    public long Number(ReadOnlySpan<ushort> registers)
    {
        var raw = Raw(registers);
        return _type is RegisterType.S16 or RegisterType.S32 ? (long)((ulong)raw << (64 - Bits)) >> (64 - Bits) : raw;
    }

    /// <summary>The value after scaling.</summary>
    public double Value(ReadOnlySpan<ushort> registers) => Number(registers) * _scale;

    /// <summary>Puts raw bits in; those that the value does not have stay as they are.</summary>
    public void PutRaw(Span<ushort> registers, uint raw)
    {
        if (IsDeclared)
        {
            PutWhole(registers, (Whole(registers) & ~_mask) | ((raw << _shift) & _mask));
        }
    }

    /// <summary>Puts the registers as one number in.</summary>
    internal void PutWhole(Span<ushort> registers, uint whole)
    {
        if (!IsDeclared)
        {
            return;
        }

        if (!IsWide)
        {
            registers[_offset] = Turned((ushort)whole);
            return;
        }

        registers[_offset] = Turned((ushort)(_lowFirst ? whole : whole >> 16));
        registers[_offset + 1] = Turned((ushort)(_lowFirst ? whole >> 16 : whole));
    }

    private ushort Turned(ushort register) => _swapsBytes ? BinaryPrimitives.ReverseEndianness(register) : register;

    /// <summary>Puts a value in: divided by the scale, rounded, held within the field's range.</summary>
    public void PutValue(Span<ushort> registers, double value)
    {
        if (IsDeclared)
        {
            PutRaw(registers, (uint)(long)Math.Clamp(Math.Round(value / _scale), Lowest, Highest));
        }
    }

    /// <summary>Largest value the field can carry, scaled.</summary>
    public double LargestValue => Highest * _scale;

    private bool IsSigned => _type is RegisterType.S16 or RegisterType.S32;

    private double Lowest => IsSigned ? -(1L << (Bits - 1)) : 0;

    private double Highest => (1L << (IsSigned ? Bits - 1 : Bits)) - 1;
}

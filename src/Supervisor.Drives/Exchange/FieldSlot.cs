using Supervisor.Configuration.Drives;

namespace Supervisor.Drives.Exchange;

/// <summary>Where a field stands among the registers of its list, and how its value is read from and put into them.</summary>
public readonly struct FieldSlot
{
    private readonly int _offset;
    private readonly RegisterType _type;
    private readonly double _scale;
    private readonly bool _lowFirst;

    internal FieldSlot(int offset, RegisterField field, WordOrder order)
    {
        _offset = offset;
        _type = field.Type;
        _scale = field.Scale;
        _lowFirst = order == WordOrder.LowFirst;
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
    public double HalfRound => Math.Abs(Scale) * (IsWide ? int.MaxValue : short.MaxValue);

    /// <summary>Bits of the value as it wraps around: 16 or 32.</summary>
    public int Bits => IsWide ? 32 : 16;

    /// <summary>The raw bits.</summary>
    public uint Raw(ReadOnlySpan<ushort> registers)
    {
        if (!IsDeclared)
        {
            return 0;
        }

        if (!IsWide)
        {
            return registers[_offset];
        }

        var first = (uint)registers[_offset];
        var second = (uint)registers[_offset + 1];
        return _lowFirst ? (second << 16) | first : (first << 16) | second;
    }

    /// <summary>The raw value with its sign, not scaled.</summary>
    public long Number(ReadOnlySpan<ushort> registers) => _type switch
    {
        RegisterType.S16 => (short)Raw(registers),
        RegisterType.S32 => (int)Raw(registers),
        _ => Raw(registers),
    };

    /// <summary>The value after scaling.</summary>
    public double Value(ReadOnlySpan<ushort> registers) => Number(registers) * _scale;

    /// <summary>Puts raw bits in.</summary>
    public void PutRaw(Span<ushort> registers, uint raw)
    {
        if (!IsDeclared)
        {
            return;
        }

        if (!IsWide)
        {
            registers[_offset] = (ushort)raw;
            return;
        }

        registers[_offset] = (ushort)(_lowFirst ? raw : raw >> 16);
        registers[_offset + 1] = (ushort)(_lowFirst ? raw >> 16 : raw);
    }

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

    private double Lowest => _type switch { RegisterType.S16 => short.MinValue, RegisterType.S32 => int.MinValue, _ => 0 };

    private double Highest => _type switch
    {
        RegisterType.S16 => short.MaxValue,
        RegisterType.S32 => int.MaxValue,
        RegisterType.U16 => ushort.MaxValue,
        _ => uint.MaxValue,
    };
}

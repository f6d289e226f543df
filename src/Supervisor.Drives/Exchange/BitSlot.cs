using Supervisor.Configuration.Drives;

namespace Supervisor.Drives.Exchange;

/// <summary>One bit in the registers.</summary>
public readonly struct BitSlot
{
    private readonly FieldSlot _field;
    private readonly uint _mask;

    internal BitSlot(FieldSlot field, BitReference bit)
    {
        _field = field;
        _mask = 1u << bit.Bit;
        Rising = bit.Rising;
    }

    /// <summary>False when the drive has no such bit.</summary>
    public bool IsDeclared => _mask != 0 && _field.IsDeclared;

    /// <summary>True when only its rising edge acts.</summary>
    public bool Rising { get; }

    /// <summary>The bit; false when undeclared.</summary>
    public bool Get(ReadOnlySpan<ushort> registers) => (_field.Whole(registers) & _mask) != 0;

    /// <summary>Sets or clears it; nothing when undeclared.</summary>
    public void Put(Span<ushort> registers, bool on)
    {
        if (IsDeclared)
        {
            var whole = _field.Whole(registers);
            _field.PutWhole(registers, on ? whole | _mask : whole & ~_mask);
        }
    }

    /// <summary>Offset of the register that holds the bit.</summary>
    public int RegisterOffset(WordOrder order)
    {
        if (!_field.IsWide)
        {
            return _field.Offset;
        }

        var high = _mask > 0xFFFF;
        return _field.Offset + (high == (order == WordOrder.LowFirst) ? 1 : 0);
    }
}

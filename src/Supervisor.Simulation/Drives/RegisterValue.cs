using Supervisor.Configuration.Drives;

namespace Supervisor.Simulation.Drives;

/// <summary>One declared field of a drive's registers, bound to its words.</summary>
internal sealed class RegisterValue(RegisterBank bank, RegisterField field, int lowSlot, int highSlot, int address)
{
    /// <summary>What it is.</summary>
    public RegisterField Field { get; } = field;

    /// <summary>True when one of its registers is among those of a write.</summary>
    public bool Overlaps(int start, int count) => start < address + Field.Width && address < start + count;

    /// <summary>Bits of it.</summary>
    public int Bits => Field.Bits;

    /// <summary>The bits of the value as one number, sign by type.</summary>
    public long Raw
    {
        get
        {
            ulong bits = (Whole & Mask) >> Shift;
            return Field.IsSigned ? (long)(bits << (64 - Bits)) >> (64 - Bits) : (long)bits;
        }
    }

    private uint Mask => Field.Mask == 0 ? uint.MaxValue : Field.Mask;

    private int Shift => System.Numerics.BitOperations.TrailingZeroCount(Mask);

    private uint Whole
    {
        get => bank[lowSlot] | (highSlot < 0 ? 0u : (uint)bank[highSlot] << 16);
        set
        {
            bank[lowSlot] = (ushort)value;
            if (highSlot >= 0)
            {
                bank[highSlot] = (ushort)(value >> 16);
            }
        }
    }

    /// <summary>The value: raw × scale.</summary>
    public double Value => Raw * Field.Scale;

    /// <summary>Sets the low bits of a number; what does not fit is cut off, as a counter does.</summary>
    public void SetWrapped(long raw) => Whole = (Whole & ~Mask) | (((uint)raw << Shift) & Mask);

    /// <summary>Sets a value; one that does not fit becomes the nearest that does.</summary>
    public void SetClamped(double value)
    {
        var range = Field.Range;
        SetWrapped((long)Math.Round(Math.Clamp(value / Field.Scale, (double)range.Least, (double)range.Most)));
    }

    /// <summary>Sets or clears bits.</summary>
    public void Put(uint bits, bool on) => Whole = on ? Whole | bits : Whole & ~bits;

    /// <summary>Adds bits to those set.</summary>
    public void Or(uint bits) => Whole |= bits;

    /// <summary>The value as a time; a field without unit counts milliseconds.</summary>
    public TimeSpan Time => TimeSpan.FromSeconds(Value * SecondsPerUnit);

    /// <summary>Sets a time that goes on counting from 0 when it no longer fits.</summary>
    public void SetTimeWrapped(TimeSpan time) => SetWrapped((long)(time.TotalSeconds / SecondsPerUnit / Field.Scale));

    /// <summary>Sets a time.</summary>
    public void SetTimeClamped(TimeSpan time) => SetClamped(time.TotalSeconds / SecondsPerUnit);

    private double SecondsPerUnit => Field.Unit switch
    {
        "s" => 1,
        "us" => 1e-6,
        "min" => 60,
        "h" => 3600,
        _ => 1e-3,
    };
}

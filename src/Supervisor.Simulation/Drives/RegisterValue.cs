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
    public int Bits => highSlot < 0 ? 16 : 32;

    /// <summary>The words as one number, sign by type.</summary>
    public long Raw
    {
        get
        {
            uint bits = bank[lowSlot] | (highSlot < 0 ? 0u : (uint)bank[highSlot] << 16);
            return Field.Type switch
            {
                RegisterType.S16 => (short)bits,
                RegisterType.S32 => (int)bits,
                _ => bits,
            };
        }
    }

    /// <summary>The value: raw × scale.</summary>
    public double Value => Raw * Field.Scale;

    /// <summary>Sets the low bits of a number; what does not fit is cut off, as a counter does.</summary>
    public void SetWrapped(long raw)
    {
        bank[lowSlot] = (ushort)raw;
        if (highSlot >= 0)
        {
            bank[highSlot] = (ushort)(raw >> 16);
        }
    }

    /// <summary>Sets a value; one that does not fit becomes the nearest that does.</summary>
    public void SetClamped(double value)
    {
        (double Lowest, double Highest) range = Field.Type switch
        {
            RegisterType.U16 => (0.0, ushort.MaxValue),
            RegisterType.S16 => (short.MinValue, short.MaxValue),
            RegisterType.U32 => (0.0, uint.MaxValue),
            _ => (int.MinValue, int.MaxValue),
        };
        SetWrapped((long)Math.Round(Math.Clamp(value / Field.Scale, range.Lowest, range.Highest)));
    }

    /// <summary>Adds bits to those set.</summary>
    public void Or(uint bits) => SetWrapped((uint)Raw | bits);

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

using Supervisor.Bus.Rtu;

namespace Supervisor.Runtime.Tests.Support;

/// <summary>A drive moved by hand: registers that answer, a CiA 402 state that follows the controlword at once, and a speed the test sets.</summary>
internal sealed class HandDrive : IRegisterMap
{
    private readonly Dictionary<int, ushort> _registers = [];
    private TimeSpan _now;

    public HandDrive()
    {
        for (var register = 0; register < 6; register++)
        {
            _registers[register] = 0;
        }

        for (var register = 64; register < 71; register++)
        {
            _registers[register] = 0;
        }

        for (var register = 128; register < 135; register++)
        {
            _registers[register] = 0;
        }

        Serial = 4711;
    }

    public List<(int Register, ushort Value)> Writes { get; } = [];

    /// <summary>Counts/s.</summary>
    public int Velocity { get; set; }

    /// <summary>What it tells instead of its velocity, counts/s.</summary>
    public int? ToldVelocity { get; set; }

    public double Position { get; set; }

    public TimeSpan BootedAt { get; set; }

    public uint Serial { get; set; }

    public bool Homed { get; set; } = true;

    /// <summary>What it does with a stop; false: it goes on.</summary>
    public bool ObeysStops { get; set; } = true;

    /// <summary>Called with the target position when the set-point bit (bit 4 of the CiA 402 controlword) rises while the drive is enabled.</summary>
    public Action<int>? SetPointTaken { get; set; }

    /// <summary>A CiA 402 statusword that stays whatever is commanded.</summary>
    public ushort? Statusword { get; set; }

    /// <summary>A parameter that does not take what is written to it.</summary>
    public int Stubborn { get; set; } = -1;

    public ushort this[int register]
    {
        get => _registers[register];
        set => _registers[register] = value;
    }

    public void Advance(TimeSpan now)
    {
        Position += Velocity * (now - _now).TotalSeconds;
        _now = now;
    }

    public byte Read(ushort start, Span<ushort> values)
    {
        _registers[0] = Statusword ?? Follow(_registers[64]);
        Put(1, (int)Math.Round(Position));
        Put(3, ToldVelocity ?? Velocity);
        Put(130, (int)(uint)(long)(_now - BootedAt).TotalMilliseconds);
        Put(132, (int)Serial);
        _registers[134] = Homed ? (ushort)1 : (ushort)0;
        for (var i = 0; i < values.Length; i++)
        {
            if (!_registers.TryGetValue(start + i, out values[i]))
            {
                return 2;
            }
        }

        return 0;
    }

    public byte Write(ushort start, ReadOnlySpan<ushort> values)
    {
        for (var i = 0; i < values.Length; i++)
        {
            if (!_registers.ContainsKey(start + i))
            {
                return 2;
            }
        }

        var before = _registers[64];
        for (var i = 0; i < values.Length; i++)
        {
            Writes.Add((start + i, values[i]));
            _registers[start + i] = start + i == Stubborn ? _registers[start + i] : values[i];
        }

        var stops = start == 64 && ((values[0] & 0x0F) != 0x0F || (values[0] & 0x100) != 0);
        Velocity = stops && ObeysStops ? 0 : Velocity;
        if ((before & 0x10) == 0 && (_registers[64] & 0x1F) == 0x1F)
        {
            SetPointTaken?.Invoke((_registers[66] << 16) | _registers[67]);
        }

        return 0;
    }

    private static ushort Follow(ushort controlword) => (controlword & 0x0F) switch
    {
        0x06 => 0x0231,
        0x07 => 0x0233,
        0x0F => (ushort)(0x0637 | ((controlword & 0x10) << 8)),
        _ => 0x0250,
    };

    private void Put(int register, int value)
    {
        _registers[register] = (ushort)(value >> 16);
        _registers[register + 1] = (ushort)value;
    }
}

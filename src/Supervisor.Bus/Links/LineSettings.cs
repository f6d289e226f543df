namespace Supervisor.Bus.Links;

/// <summary>Parity of a serial character.</summary>
public enum LineParity
{
    None = 0,
    Even = 1,
    Odd = 2,
}

/// <summary>How long the line must be silent between frames.</summary>
public enum GapRule
{
    /// <summary>3.5 characters up to 19200 baud, 1.750 ms above (Modbus over Serial Line V1.02, 2.5.1.1).</summary>
    Standard = 0,

    /// <summary>3.5 characters at any rate.</summary>
    Proportional = 1,

    /// <summary>A stated time.</summary>
    Fixed = 2,
}

/// <summary>Settings of one line.</summary>
/// <param name="Baud">Bits per second, any rate the adapter takes.</param>
/// <param name="Parity">Parity bit.</param>
/// <param name="StopBits">1 or 2.</param>
/// <param name="Gap">Rule for the silence between frames.</param>
/// <param name="FixedGap">The silence when <paramref name="Gap"/> is <see cref="GapRule.Fixed"/>.</param>
public sealed record LineSettings(int Baud, LineParity Parity, int StopBits, GapRule Gap, TimeSpan FixedGap)
{
    /// <summary>Direction switched by the driver; null: left as it is, for adapters and transceivers that switch by themselves.</summary>
    public Rs485Settings? Rs485 { get; init; }

    /// <summary>Time from handing a frame over to its first bit on the wire.</summary>
    public TimeSpan SendDelay => Rs485?.DelayBefore ?? TimeSpan.Zero;

    /// <summary>Bits of one character on the wire: start, eight data bits, parity, stop bits.</summary>
    public int BitsPerCharacter => 1 + 8 + (Parity == LineParity.None ? 0 : 1) + StopBits;

    /// <summary>Time of <paramref name="characters"/> characters on the wire.</summary>
    public TimeSpan CharacterTime(double characters) =>
        TimeSpan.FromTicks((long)Math.Ceiling(characters * BitsPerCharacter * TimeSpan.TicksPerSecond / Baud));

    /// <summary>Silence that must stand between two frames.</summary>
    public TimeSpan FrameGap => Gap switch
    {
        GapRule.Fixed => FixedGap,
        GapRule.Standard when Baud > 19200 => TimeSpan.FromMicroseconds(1750),
        _ => CharacterTime(3.5),
    };
}

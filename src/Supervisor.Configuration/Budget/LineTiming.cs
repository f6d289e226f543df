using Supervisor.Configuration.Machines;

namespace Supervisor.Configuration.Budget;

/// <summary>Times on the line of a port, of whole characters and of the silence between frames.</summary>
/// <remarks>
/// Frames are at least 3.5 characters apart, above 19200 baud 1.750 ms for "standard" (MODBUS over Serial Line V1.02, 2.5.1.1, read in the primary text).
/// </remarks>
internal readonly struct LineTiming(PortDefinition port)
{
    private const double GapCharacters = 3.5;
    private const int FastestProportional = 19_200;
    private static readonly TimeSpan FixedGap = TimeSpan.FromMicroseconds(1750);

    /// <summary>Start, eight data bits, parity, stop bits.</summary>
    public int BitsPerCharacter => 1 + 8 + (port.Parity == ParityKind.None ? 0 : 1) + port.StopBits;

    /// <summary>From handing a frame over to its first bit, where the driver switches the line's direction.</summary>
    public TimeSpan SendDelay => port.Rs485?.DelayBefore ?? TimeSpan.Zero;

    public TimeSpan Characters(double count) =>
        TimeSpan.FromTicks((long)Math.Ceiling(count * BitsPerCharacter * TimeSpan.TicksPerSecond / port.Baud));

    public TimeSpan Gap => port.Gap.Kind switch
    {
        GapKind.Fixed => port.Gap.Fixed,
        GapKind.Standard when port.Baud > FastestProportional => FixedGap,
        _ => Characters(GapCharacters),
    };
}

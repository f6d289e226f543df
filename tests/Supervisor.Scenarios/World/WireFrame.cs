namespace Supervisor.Scenarios.World;

/// <summary>A request as it began on a wire.</summary>
/// <param name="At">When its first byte went out.</param>
/// <param name="Port">Index of the port.</param>
/// <param name="Bytes">The frame with its CRC.</param>
public sealed record WireFrame(TimeSpan At, int Port, byte[] Bytes)
{
    /// <summary>Unit address.</summary>
    public byte Unit => Bytes[0];

    /// <summary>Function code.</summary>
    public byte Function => Bytes[1];

    /// <summary>Registers the frame writes, by wire address.</summary>
    public IEnumerable<(int Address, ushort Value)> Writes()
    {
        var (first, count, data) = Function switch
        {
            6 => (Word(2), 1, 4),
            16 => (Word(2), Word(4), 7),
            23 => (Word(6), Word(8), 11),
            _ => (0, 0, 0),
        };
        for (var i = 0; i < count; i++)
        {
            yield return (first + i, (ushort)Word(data + (2 * i)));
        }
    }

    private int Word(int offset) => (Bytes[offset] << 8) | Bytes[offset + 1];
}

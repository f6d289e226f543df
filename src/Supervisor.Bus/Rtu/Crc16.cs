namespace Supervisor.Bus.Rtu;

/// <summary>CRC-16 of Modbus RTU: initial value FFFFh, reflected polynomial A001h, low byte first on the wire (Modbus over Serial Line V1.02, appendix B).</summary>
public static class Crc16
{
    /// <summary>Bytes a CRC takes at the end of a frame.</summary>
    public const int Size = 2;

    private static readonly ushort[] Table = MakeTable();

    /// <summary>CRC of <paramref name="bytes"/>.</summary>
    public static ushort Compute(ReadOnlySpan<byte> bytes)
    {
        var table = Table;
        ushort crc = 0xFFFF;
        foreach (var b in bytes)
        {
            crc = (ushort)((crc >> 8) ^ table[(crc ^ b) & 0xFF]);
        }

        return crc;
    }

    /// <summary>Writes the CRC of the first <paramref name="length"/> bytes behind them. Returns the length with the CRC.</summary>
    public static int Append(Span<byte> frame, int length)
    {
        var crc = Compute(frame[..length]);
        frame[length] = (byte)crc;
        frame[length + 1] = (byte)(crc >> 8);
        return length + Size;
    }

    /// <summary>True when the last two bytes are the CRC of those before them; false for fewer than four bytes, which hold no message.</summary>
    public static bool IsIntact(ReadOnlySpan<byte> frame) =>
        frame.Length >= 4 && Compute(frame[..^Size]) == (frame[^2] | (frame[^1] << 8));

    private static ushort[] MakeTable()
    {
        var table = new ushort[256];
        for (var i = 0; i < table.Length; i++)
        {
            var crc = i;
            for (var bit = 0; bit < 8; bit++)
            {
                crc = (crc & 1) != 0 ? (crc >> 1) ^ 0xA001 : crc >> 1;
            }

            table[i] = (ushort)crc;
        }

        return table;
    }
}

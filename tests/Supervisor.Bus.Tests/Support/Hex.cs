using Supervisor.Bus.Rtu;

namespace Supervisor.Bus.Tests.Support;

internal static class Hex
{
    /// <summary>Bytes from text such as <c>01 03 00 6B</c>.</summary>
    public static byte[] Bytes(string text) => Convert.FromHexString(text.Replace(" ", "", StringComparison.Ordinal));

    /// <summary>The bytes of <paramref name="text"/> with a good CRC behind them.</summary>
    public static byte[] WithCrc(string text)
    {
        var body = Bytes(text);
        var frame = new byte[body.Length + Crc16.Size];
        body.CopyTo(frame, 0);
        Crc16.Append(frame, body.Length);
        return frame;
    }
}

namespace Supervisor.Bus.Tests.Noise;

/// <summary>The CRC of MODBUS over Serial Line V1.02, appendix B, bit by bit as it is written there: no table, nothing of the program's.</summary>
internal static class SlowCrc
{
    public static int Of(ReadOnlySpan<byte> bytes)
    {
        var register = 0xFFFF;
        foreach (var each in bytes)
        {
            register ^= each;
            for (var shift = 0; shift < 8; shift++)
            {
                var low = register & 1;
                register >>= 1;
                register ^= low == 1 ? 0xA001 : 0;
            }
        }

        return register;
    }

    /// <summary>True when the last two bytes are the CRC of the others, low byte first.</summary>
    public static bool Fits(ReadOnlySpan<byte> frame) => Of(frame[..^2]) == (frame[^2] | (frame[^1] << 8));
}

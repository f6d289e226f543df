using Supervisor.Bus.Rtu;

namespace Supervisor.Bus.Tests.Noise;

/// <summary>
/// What bytes are, by the tables of MODBUS Application Protocol V1.1b3, section 6, said again from the request's own bytes and without haste: a list of
/// what each byte must be, and the CRC bit by bit. Nothing of the program's decoder is in it.
/// </summary>
internal static class SlowDecoder
{
    /// <summary>Decodes a reply to a request.</summary>
    public static (DecodeState State, int Length, bool IsException) Reply(ReadOnlySpan<byte> received, ReadOnlySpan<byte> request)
    {
        if (received.Length > 0 && received[0] != request[0])
        {
            return (DecodeState.Invalid, 0, false);
        }

        if (received.Length < 2)
        {
            return (DecodeState.Incomplete, 0, false);
        }

        if (received[1] == request[1] + 128)
        {
            return Exception(received);
        }

        if (received[1] != request[1])
        {
            return (DecodeState.Invalid, 0, false);
        }

        return request[1] switch
        {
            1 or 2 => Counted(received, (((request[4] << 8) | request[5]) + 7) / 8),
            3 or 4 or 23 => Counted(received, 2 * ((request[4] << 8) | request[5])),
            5 or 6 or 8 or 15 or 16 => Same(received, request, 4),
            22 => Same(received, request, 6),
            _ => Objects(received, request[3]),
        };
    }

    /// <summary>Bytes of a request by its function; -1 while too little came, 0 where only silence tells.</summary>
    public static int RequestLength(ReadOnlySpan<byte> received)
    {
        if (received.Length < 2)
        {
            return -1;
        }

        switch (received[1])
        {
            case 1 or 2 or 3 or 4 or 5 or 6 or 8:
                return 8;
            case 7 or 11 or 12 or 17:
                return 4;
            case 15 or 16:
                return received.Length < 7 ? -1 : 9 + received[6];
            case 22:
                return 10;
            case 23:
                return received.Length < 11 ? -1 : 13 + received[10];
            case 43:
                return received.Length < 3 ? -1 : received[2] == 14 ? 7 : 0;
            default:
                return 0;
        }
    }

    private static (DecodeState State, int Length, bool IsException) Exception(ReadOnlySpan<byte> received) =>
        received.Length < 5 ? (DecodeState.Incomplete, 0, false)
        : !SlowCrc.Fits(received[..5]) ? (DecodeState.Invalid, 5, false)
        : received[2] == 0 ? (DecodeState.Invalid, 0, false) : (DecodeState.Frame, 5, true);

    private static (DecodeState State, int Length, bool IsException) Counted(ReadOnlySpan<byte> received, int data) =>
        received.Length >= 3 && received[2] != data ? (DecodeState.Invalid, 0, false) : Whole(received, 3 + data + 2);

    private static (DecodeState State, int Length, bool IsException) Same(ReadOnlySpan<byte> received, ReadOnlySpan<byte> request, int count)
    {
        var whole = Whole(received, 2 + count + 2);
        return whole.State == DecodeState.Frame && !received.Slice(2, count).SequenceEqual(request.Slice(2, count)) ? (DecodeState.Invalid, 0, false) : whole;
    }

    private static (DecodeState State, int Length, bool IsException) Objects(ReadOnlySpan<byte> received, byte access)
    {
        if ((received.Length >= 3 && received[2] != 14) || (received.Length >= 4 && received[3] != access))
        {
            return (DecodeState.Invalid, 0, false);
        }

        if (received.Length < 8)
        {
            return (DecodeState.Incomplete, 0, false);
        }

        var at = 8;
        for (var left = received[7]; left > 0; left--)
        {
            if (at + (2 * left) + 2 > 256)
            {
                return (DecodeState.Invalid, 0, false);
            }

            if (at + 1 >= received.Length)
            {
                return (DecodeState.Incomplete, 0, false);
            }

            at += 2 + received[at + 1];
        }

        return at + 2 > 256 ? (DecodeState.Invalid, 0, false) : Whole(received, at + 2);
    }

    private static (DecodeState State, int Length, bool IsException) Whole(ReadOnlySpan<byte> received, int length) =>
        received.Length < length ? (DecodeState.Incomplete, 0, false)
        : SlowCrc.Fits(received[..length]) ? (DecodeState.Frame, length, false) : (DecodeState.Invalid, length, false);
}

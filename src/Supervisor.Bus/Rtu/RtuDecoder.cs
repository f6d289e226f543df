namespace Supervisor.Bus.Rtu;

/// <summary>Tells what the bytes received so far are. Looks at the start of what it is given, holds nothing, and refuses a wrong length before the body is there.</summary>
public static class RtuDecoder
{
    /// <summary>Decodes the reply to a request whose reply must have <paramref name="shape"/>.</summary>
    public static Decoded Reply(ReadOnlySpan<byte> received, in ReplyShape shape)
    {
        if (received.Length >= 1 && received[0] != shape.Unit)
        {
            return Decoded.Invalid(FrameFault.WrongUnit);
        }

        if (received.Length < 2)
        {
            return Decoded.Incomplete;
        }

        if (received[1] == (shape.Function | FunctionCode.ExceptionBit))
        {
            return ExceptionReply(received);
        }

        if (received[1] != shape.Function)
        {
            return Decoded.Invalid(FrameFault.WrongFunction);
        }

        if (shape.HasObjects)
        {
            return Identification(received, (byte)shape.Echo);
        }

        if (shape.HasByteCount && received.Length >= 3 && received[2] != shape.ByteCount)
        {
            return Decoded.Invalid(FrameFault.WrongByteCount);
        }

        var whole = Whole(received, shape.Length);
        var echoFails = whole.State == DecodeState.Frame && !shape.HasByteCount && !shape.EchoFits(received[2..]);
        return echoFails ? Decoded.Invalid(FrameFault.WrongEcho) : whole;
    }

    /// <summary>Decodes a reply nobody here asked for, its length taken from its function code.</summary>
    public static Decoded AnyReply(ReadOnlySpan<byte> received)
    {
        if (received.Length >= 1 && received[0] is < ModbusLimits.FirstUnit or > ModbusLimits.LastUnit)
        {
            return Decoded.Invalid(FrameFault.WrongUnit);
        }

        if (received.Length < 2)
        {
            return Decoded.Incomplete;
        }

        if ((received[1] & FunctionCode.ExceptionBit) != 0)
        {
            return ExceptionReply(received);
        }

        switch (received[1])
        {
            case 1 or 2 or 3 or 4 or 12 or 17 or 23:
                return Counted(received, countAt: 2);
            case 5 or 6 or 8 or 11 or 15 or 16:
                return Whole(received, ReplyShape.EchoLength);
            case 7:
                return Whole(received, 5);
            case 22:
                return Whole(received, ReplyShape.MaskEchoLength);
            case FunctionCode.EncapsulatedInterface when received.Length < 3 || received[2] == DeviceIdentification.Interface:
                return Identification(received, access: null);
            default:
                return Decoded.Invalid(FrameFault.WrongFunction);
        }
    }

    /// <summary>Decodes a request as a slave sees it, its length taken from its function code.</summary>
    /// <remarks><see cref="FrameFault.WrongFunction"/> means: the length is not known, only silence ends this frame.</remarks>
    public static Decoded Request(ReadOnlySpan<byte> received)
    {
        if (received.Length < 2)
        {
            return Decoded.Incomplete;
        }

        switch (received[1])
        {
            case 1 or 2 or 3 or 4 or 5 or 6 or 8:
                return Whole(received, 8);
            case 7 or 11 or 12 or 17:
                return Whole(received, 4);
            case 15 or 16:
                return Counted(received, countAt: 6);
            case 22:
                return Whole(received, 10);
            case 23:
                return Counted(received, countAt: 10);
            case FunctionCode.EncapsulatedInterface when received.Length < 3:
                return Decoded.Incomplete;
            case FunctionCode.EncapsulatedInterface when received[2] == DeviceIdentification.Interface:
                return Whole(received, DeviceIdentification.RequestLength);
            default:
                return Decoded.Invalid(FrameFault.WrongFunction);
        }
    }

    private static Decoded ExceptionReply(ReadOnlySpan<byte> received)
    {
        var whole = Whole(received, ReplyShape.ExceptionLength);
        if (whole.State != DecodeState.Frame)
        {
            return whole;
        }

        return received[2] == 0 ? Decoded.Invalid(FrameFault.BadExceptionCode) : Decoded.Frame(whole.Length, isException: true);
    }

    /// <summary>A reply of identification objects: as long as its count of objects and theirs of bytes say.</summary>
    private static Decoded Identification(ReadOnlySpan<byte> received, byte? access)
    {
        if (received.Length >= 3 && received[2] != DeviceIdentification.Interface)
        {
            return Decoded.Invalid(FrameFault.WrongFunction);
        }

        if (received.Length >= 4 && access is { } asked && received[3] != asked)
        {
            return Decoded.Invalid(FrameFault.WrongEcho);
        }

        var length = DeviceIdentification.ReplyLength(received);
        return length < 0 ? Decoded.Incomplete
            : length > Transaction.MaximumFrameBytes ? Decoded.Invalid(FrameFault.WrongByteCount)
            : Whole(received, length);
    }

    private static Decoded Counted(ReadOnlySpan<byte> received, int countAt)
    {
        if (received.Length <= countAt)
        {
            return Decoded.Incomplete;
        }

        var length = countAt + 1 + received[countAt] + Crc16.Size;
        return length > Transaction.MaximumFrameBytes ? Decoded.Invalid(FrameFault.WrongByteCount) : Whole(received, length);
    }

    private static Decoded Whole(ReadOnlySpan<byte> received, int length)
    {
        if (received.Length < length)
        {
            return Decoded.Incomplete;
        }

        return Crc16.IsIntact(received[..length]) ? Decoded.Frame(length) : Decoded.Invalid(FrameFault.BadCrc, length);
    }
}

namespace Supervisor.Bus.Rtu;

/// <content>Echo and identification (Modbus Application Protocol V1.1b3, 6.8 and 6.21), and the mask write (6.16).</content>
public sealed partial class RtuSlave
{
    private static byte Diagnose(ReadOnlySpan<byte> request, Span<byte> reply, ref int length)
    {
        if (request.Length < 6 || Word(request, 2) != 0)
        {
            return ExceptionCode.IllegalFunction;
        }

        return request.Length != ReplyShape.EchoLength ? ExceptionCode.IllegalDataValue : Echo(0, request, reply, ref length);
    }

    private byte MaskWrite(IRegisterMap map, ReadOnlySpan<byte> request, Span<byte> reply, ref int length)
    {
        if (request.Length != ReplyShape.MaskEchoLength)
        {
            return ExceptionCode.IllegalDataValue;
        }

        var (register, and, or) = (Word(request, 2), Word(request, 4), Word(request, 6));
        var value = _values.AsSpan(0, 1);
        var exception = map.Read(register, value);
        if (exception != 0)
        {
            return exception;
        }

        value[0] = (ushort)((value[0] & and) | (or & ~and));
        exception = map.Write(register, value);
        request.Slice(2, 6).CopyTo(reply[2..]);
        length = 8;
        return exception;
    }

    private static byte Identify(DeviceIdentity identity, ReadOnlySpan<byte> request, Span<byte> reply, ref int length)
    {
        if (request.Length < 4 || request[2] != DeviceIdentification.Interface)
        {
            return ExceptionCode.IllegalFunction;
        }

        var access = (IdentificationAccess)request[DeviceIdentification.AccessAt];
        if (request.Length != DeviceIdentification.RequestLength || access is < IdentificationAccess.Basic or > IdentificationAccess.One
            || (access == IdentificationAccess.One && !identity.HasIndividualAccess))
        {
            return ExceptionCode.IllegalDataValue;
        }

        int first = request[4];
        if (access == IdentificationAccess.One && !identity.Has((byte)first))
        {
            return ExceptionCode.IllegalDataAddress;
        }

        reply[2] = DeviceIdentification.Interface;
        reply[DeviceIdentification.AccessAt] = (byte)access;
        reply[DeviceIdentification.ConformityAt] = identity.Conformity;
        Fill(identity, access, first, reply, ref length);
        return 0;
    }

    /// <summary>As many objects as one frame takes; whoever asks for more than the device has gets what it has.</summary>
    private static void Fill(DeviceIdentity identity, IdentificationAccess access, int first, Span<byte> reply, ref int length)
    {
        var last = access switch
        {
            IdentificationAccess.Basic => DeviceIdentification.Revision,
            IdentificationAccess.Regular => DeviceIdentification.LastRegular,
            IdentificationAccess.Extended => byte.MaxValue,
            _ => first,
        };
        // A stream that is to begin with an object that is not there begins anew.
        first = first <= last && identity.Has((byte)first) ? first : 0;
        reply[DeviceIdentification.MoreAt] = 0;
        reply[DeviceIdentification.NextAt] = 0;
        reply[DeviceIdentification.CountAt] = 0;
        length = DeviceIdentification.FirstObject;
        for (var id = first; id <= last; id++)
        {
            if (!identity.Has((byte)id))
            {
                continue;
            }

            var bytes = identity.Object((byte)id);
            if (length + 2 + bytes.Length + Crc16.Size > Transaction.MaximumFrameBytes)
            {
                reply[DeviceIdentification.MoreAt] = DeviceIdentification.MoreFollows;
                reply[DeviceIdentification.NextAt] = (byte)id;
                return;
            }

            reply[length] = (byte)id;
            reply[length + 1] = (byte)bytes.Length;
            bytes.CopyTo(reply[(length + 2)..]);
            length += 2 + bytes.Length;
            reply[DeviceIdentification.CountAt]++;
        }
    }
}

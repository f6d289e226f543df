namespace Supervisor.Bus.Rtu;

/// <content>Coils and discrete inputs (Modbus Application Protocol V1.1b3, 6.1, 6.2, 6.5 and 6.11).</content>
public sealed partial class RtuSlave
{
    private readonly bool[] _bits = new bool[ModbusLimits.MaximumReadBits];

    private byte ReadBits(IBitMap map, ReadOnlySpan<byte> request, Span<byte> reply, ref int length)
    {
        if (request.Length != 8 || !InRange(Word(request, 4), ModbusLimits.MaximumReadBits))
        {
            return ExceptionCode.IllegalDataValue;
        }

        int start = Word(request, 2), quantity = Word(request, 4);
        if (!Fits(start, quantity))
        {
            return ExceptionCode.IllegalDataAddress;
        }

        var bits = _bits.AsSpan(0, quantity);
        var exception = request[1] == FunctionCode.ReadCoils ? map.ReadCoils((ushort)start, bits) : map.ReadInputs((ushort)start, bits);
        if (exception != 0)
        {
            return exception;
        }

        var bytes = (quantity + 7) / 8;
        reply[length++] = (byte)bytes;
        reply.Slice(length, bytes).Clear();
        for (var i = 0; i < quantity; i++)
        {
            reply[length + (i / 8)] |= (byte)(bits[i] ? 1 << (i % 8) : 0);
        }

        length += bytes;
        return 0;
    }

    private byte WriteCoil(IBitMap map, ReadOnlySpan<byte> request, Span<byte> reply, ref int length)
    {
        if (request.Length != 8 || Word(request, 4) is not (0 or ModbusLimits.CoilOn))
        {
            return ExceptionCode.IllegalDataValue;
        }

        _bits[0] = Word(request, 4) != 0;
        return Echo(map.WriteCoils(Word(request, 2), _bits.AsSpan(0, 1)), request, reply, ref length);
    }

    private byte WriteCoils(IBitMap map, ReadOnlySpan<byte> request, Span<byte> reply, ref int length)
    {
        if (request.Length < 9)
        {
            return ExceptionCode.IllegalDataValue;
        }

        int start = Word(request, 2), quantity = Word(request, 4), bytes = (quantity + 7) / 8;
        if (!InRange(quantity, ModbusLimits.MaximumWriteCoils) || request[6] != bytes || request.Length != 7 + bytes + Crc16.Size)
        {
            return ExceptionCode.IllegalDataValue;
        }

        if (!Fits(start, quantity))
        {
            return ExceptionCode.IllegalDataAddress;
        }

        for (var i = 0; i < quantity; i++)
        {
            _bits[i] = (request[7 + (i / 8)] & (1 << (i % 8))) != 0;
        }

        return Echo(map.WriteCoils((ushort)start, _bits.AsSpan(0, quantity)), request, reply, ref length);
    }
}

using System.Buffers.Binary;

namespace Supervisor.Bus.Rtu;

/// <summary>The answering side of a line: any number of addresses, each with its registers. A step machine: no I/O, no clock, no allocation per request.</summary>
/// <remarks>
/// Functions 3, 4 (the same registers unless the map keeps them apart), 6, 8 with sub-function 0 and one word, 16, 22 and 23; where the map is an
/// <see cref="IBitMap"/> also 1, 2, 5 and 15, and where it is <see cref="IIdentified"/> 43 with interface 14; anything else is answered with
/// exception 1. Quantities out of range: exception 3; a range that runs past the last register: 2 (Modbus Application Protocol V1.1b3, sections 6
/// and 7); whatever the map says otherwise. Broadcast writes reach every address and are not answered.
/// </remarks>
public sealed partial class RtuSlave
{
    private readonly IRegisterMap?[] _maps = new IRegisterMap?[ModbusLimits.LastUnit + 1];
    private readonly ushort[] _values = new ushort[ModbusLimits.MaximumRead];

    /// <summary>Serves <paramref name="map"/> at an address from 1 to 247.</summary>
    /// <exception cref="ArgumentException">The address is taken.</exception>
    public void Serve(byte address, IRegisterMap map)
    {
        ArgumentNullException.ThrowIfNull(map);
        CheckAddress(address);
        if (_maps[address] is not null)
        {
            throw new ArgumentException($"Address {address} is served already.", nameof(address));
        }

        _maps[address] = map;
    }

    /// <summary>Stops answering at an address, as a drive without power does. True when it was served.</summary>
    public bool Withdraw(byte address)
    {
        CheckAddress(address);
        var served = _maps[address] is not null;
        _maps[address] = null;
        return served;
    }

    /// <summary>Answers one whole request frame.</summary>
    /// <param name="request">A frame with its CRC.</param>
    /// <param name="reply">Where the reply goes, at least 256 bytes.</param>
    /// <returns>Bytes of the reply; 0 for silence (bad CRC, foreign address, broadcast).</returns>
    public int Answer(ReadOnlySpan<byte> request, Span<byte> reply)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(reply.Length, Transaction.MaximumFrameBytes, nameof(reply));
        // A function code above 127 is another slave's exception reply, seen on a shared pair of wires.
        if (request.Length > Transaction.MaximumFrameBytes || !Crc16.IsIntact(request) || request[1] >= FunctionCode.ExceptionBit)
        {
            return 0;
        }

        var unit = request[0];
        if (unit == ModbusLimits.BroadcastUnit)
        {
            Broadcast(request, reply);
            return 0;
        }

        if (unit > ModbusLimits.LastUnit || _maps[unit] is not { } map)
        {
            return 0;
        }

        request[..2].CopyTo(reply);
        var length = 2;
        var exception = Serve(map, request, reply, ref length);
        if (exception != 0)
        {
            reply[1] |= FunctionCode.ExceptionBit;
            reply[2] = exception;
            length = 3;
        }

        return Crc16.Append(reply, length);
    }

    private static void CheckAddress(byte address)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(address, ModbusLimits.FirstUnit);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(address, ModbusLimits.LastUnit);
    }

    private static ushort Word(ReadOnlySpan<byte> frame, int at) => BinaryPrimitives.ReadUInt16BigEndian(frame[at..]);

    private static bool InRange(int quantity, int maximum) => quantity >= 1 && quantity <= maximum;

    private static bool Fits(int start, int quantity) => start + quantity <= ModbusLimits.RegisterSpace;

    private void Broadcast(ReadOnlySpan<byte> request, Span<byte> scratch)
    {
        if (request[1] is not (FunctionCode.WriteSingleRegister or FunctionCode.WriteMultipleRegisters
            or FunctionCode.WriteSingleCoil or FunctionCode.WriteMultipleCoils))
        {
            return;
        }

        foreach (var map in _maps)
        {
            if (map is not null)
            {
                var length = 2;
                _ = Serve(map, request, scratch, ref length);
            }
        }
    }

    private byte Serve(IRegisterMap map, ReadOnlySpan<byte> request, Span<byte> reply, ref int length) => request[1] switch
    {
        FunctionCode.ReadHoldingRegisters or FunctionCode.ReadInputRegisters => Read(map, request, reply, ref length),
        FunctionCode.WriteSingleRegister => WriteSingle(map, request, reply, ref length),
        FunctionCode.WriteMultipleRegisters => WriteMultiple(map, request, reply, ref length),
        FunctionCode.MaskWriteRegister => MaskWrite(map, request, reply, ref length),
        FunctionCode.ReadWriteMultipleRegisters => ReadWrite(map, request, reply, ref length),
        FunctionCode.Diagnostics => Diagnose(request, reply, ref length),
        FunctionCode.EncapsulatedInterface when map is IIdentified { Identity: { } identity } => Identify(identity, request, reply, ref length),
        FunctionCode.ReadCoils or FunctionCode.ReadDiscreteInputs when map is IBitMap bits => ReadBits(bits, request, reply, ref length),
        FunctionCode.WriteSingleCoil when map is IBitMap bits => WriteCoil(bits, request, reply, ref length),
        FunctionCode.WriteMultipleCoils when map is IBitMap bits => WriteCoils(bits, request, reply, ref length),
        _ => ExceptionCode.IllegalFunction,
    };

    private byte Read(IRegisterMap map, ReadOnlySpan<byte> request, Span<byte> reply, ref int length)
    {
        if (request.Length != 8 || !InRange(Word(request, 4), ModbusLimits.MaximumRead))
        {
            return ExceptionCode.IllegalDataValue;
        }

        return ReadInto(map, Word(request, 2), Word(request, 4), reply, ref length, request[1] == FunctionCode.ReadInputRegisters);
    }

    private byte WriteSingle(IRegisterMap map, ReadOnlySpan<byte> request, Span<byte> reply, ref int length)
    {
        if (request.Length != 8)
        {
            return ExceptionCode.IllegalDataValue;
        }

        _values[0] = Word(request, 4);
        return Echo(map.Write(Word(request, 2), _values.AsSpan(0, 1)), request, reply, ref length);
    }

    private byte WriteMultiple(IRegisterMap map, ReadOnlySpan<byte> request, Span<byte> reply, ref int length)
    {
        if (request.Length < 9 || !HoldsRegisters(request, countAt: 6, Word(request, 4), ModbusLimits.MaximumWrite))
        {
            return ExceptionCode.IllegalDataValue;
        }

        return Echo(Write(map, Word(request, 2), Word(request, 4), request[7..]), request, reply, ref length);
    }

    private byte ReadWrite(IRegisterMap map, ReadOnlySpan<byte> request, Span<byte> reply, ref int length)
    {
        if (request.Length < 13
            || !InRange(Word(request, 4), ModbusLimits.MaximumRead)
            || !HoldsRegisters(request, countAt: 10, Word(request, 8), ModbusLimits.MaximumReadWriteWrite))
        {
            return ExceptionCode.IllegalDataValue;
        }

        // Both ranges are checked before anything is written, and the write is done before the read that is answered.
        var trial = length;
        var exception = ReadInto(map, Word(request, 2), Word(request, 4), reply, ref trial);
        if (exception == 0)
        {
            exception = Write(map, Word(request, 6), Word(request, 8), request[11..]);
        }

        return exception != 0 ? exception : ReadInto(map, Word(request, 2), Word(request, 4), reply, ref length);
    }

    private static bool HoldsRegisters(ReadOnlySpan<byte> request, int countAt, int quantity, int maximum) =>
        InRange(quantity, maximum) && request[countAt] == 2 * quantity && request.Length == countAt + 1 + (2 * quantity) + Crc16.Size;

    private byte ReadInto(IRegisterMap map, int start, int quantity, Span<byte> reply, ref int length, bool ofInputs = false)
    {
        if (!Fits(start, quantity))
        {
            return ExceptionCode.IllegalDataAddress;
        }

        var values = _values.AsSpan(0, quantity);
        var exception = ofInputs ? map.ReadInputRegisters((ushort)start, values) : map.Read((ushort)start, values);
        if (exception != 0)
        {
            return exception;
        }

        reply[length++] = (byte)(2 * quantity);
        foreach (var value in values)
        {
            BinaryPrimitives.WriteUInt16BigEndian(reply[length..], value);
            length += 2;
        }

        return 0;
    }

    private byte Write(IRegisterMap map, int start, int quantity, ReadOnlySpan<byte> data)
    {
        if (!Fits(start, quantity))
        {
            return ExceptionCode.IllegalDataAddress;
        }

        for (var i = 0; i < quantity; i++)
        {
            _values[i] = Word(data, 2 * i);
        }

        return map.Write((ushort)start, _values.AsSpan(0, quantity));
    }

    private static byte Echo(byte exception, ReadOnlySpan<byte> request, Span<byte> reply, ref int length)
    {
        request.Slice(2, 4).CopyTo(reply[2..]);
        length = 6;
        return exception;
    }
}

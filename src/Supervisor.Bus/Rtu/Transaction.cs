using System.Buffers.Binary;

namespace Supervisor.Bus.Rtu;

/// <summary>One request and its reply in buffers that are made once and used again: nothing is allocated per exchange.</summary>
/// <remarks>
/// A stepper fills in the request, a driver runs it, the stepper reads the reply. One owner at a time.
/// A quantity or address outside the protocol's limits is a bug of the caller: <see cref="ArgumentOutOfRangeException"/>.
/// </remarks>
public sealed class Transaction
{
    /// <summary>Largest RTU frame (Modbus over Serial Line V1.02: 256 bytes).</summary>
    public const int MaximumFrameBytes = 256;

    private readonly byte[] _request = new byte[MaximumFrameBytes];
    private readonly byte[] _reply = new byte[MaximumFrameBytes];
    private int _requestLength;
    private int _replyLength;
    private TimeSpan _replyTimeout;

    /// <summary>Address asked, 0 for a broadcast.</summary>
    public byte Unit => _request[0];

    /// <summary>Function code asked.</summary>
    public byte Function => _request[1];

    /// <summary>True when it goes to all slaves, so that none answers.</summary>
    public bool IsBroadcast => Unit == ModbusLimits.BroadcastUnit;

    /// <summary>The whole request frame with its CRC; empty until a request was filled in.</summary>
    public ReadOnlySpan<byte> RequestFrame => _request.AsSpan(0, _requestLength);

    /// <summary>What the reply must look like.</summary>
    public ReplyShape Expected { get; private set; }

    /// <summary>
    /// True for a frame that must not wait (a stop): it goes out even while a late reply of the same shape may still come. The first such reply is
    /// then put down to the earlier request, so this one may end as <see cref="TransactionResult.TimedOut"/> though it was obeyed: look at the
    /// feedback. Every new request starts with false.
    /// </summary>
    public bool Urgent { get; set; }

    /// <summary>How it ended.</summary>
    public TransactionResult Result { get; private set; }

    /// <summary>What was wrong with the bytes that came; <see cref="FrameFault.None"/> unless <see cref="Result"/> is <see cref="TransactionResult.Garbled"/>.</summary>
    public FrameFault Fault { get; private set; }

    /// <summary>Exception code of the slave; 0 unless <see cref="Result"/> is <see cref="TransactionResult.ExceptionReply"/>.</summary>
    public byte ExceptionCode { get; private set; }

    /// <summary>
    /// How long a reply may take to begin and end, counted from the last byte of the request. For a broadcast: how long the line stays quiet
    /// behind it so that the slaves can act (100 to 200 ms is usual, Modbus over Serial Line V1.02, 2.4.1).
    /// </summary>
    public TimeSpan ReplyTimeout
    {
        get => _replyTimeout;
        set
        {
            ArgumentOutOfRangeException.ThrowIfLessThan(value, TimeSpan.Zero);
            _replyTimeout = value;
        }
    }

    /// <summary>Monotonic time at which the first byte of the request was handed to the link.</summary>
    public TimeSpan BegunAt { get; set; }

    /// <summary>Monotonic time at which the result was known.</summary>
    public TimeSpan EndedAt { get; set; }

    /// <summary>The whole reply frame, CRC included; empty unless a reply or exception came.</summary>
    public ReadOnlySpan<byte> ReplyFrame => _reply.AsSpan(0, _replyLength);

    /// <summary>Registers in the reply of a read or read-write; 0 otherwise.</summary>
    public int ReplyRegisterCount => Result == TransactionResult.Reply && Expected is { HasByteCount: true, HasBits: false } ? Expected.ByteCount / 2 : 0;

    /// <summary>Bits in the reply of a read of coils or discrete inputs, filled up to whole bytes; 0 otherwise.</summary>
    public int ReplyBitCount => Result == TransactionResult.Reply && Expected.HasBits ? Expected.ByteCount * 8 : 0;

    /// <summary>Asks to read <paramref name="count"/> registers (1 to 125) by function 3 or 4.</summary>
    public void Read(byte unit, byte function, ushort start, ushort count)
    {
        CheckSlave(unit);
        if (function is not (FunctionCode.ReadHoldingRegisters or FunctionCode.ReadInputRegisters))
        {
            throw new ArgumentOutOfRangeException(nameof(function), function, "Registers are read by function 3 or 4.");
        }

        CheckRange(start, count, ModbusLimits.MaximumRead, nameof(count));
        Head(unit, function, start, count);
        Finish(6, ReplyShape.OfRead(unit, function, count));
    }

    /// <summary>Asks to read <paramref name="count"/> bits (1 to 2000) by function 1 (coils) or 2 (discrete inputs).</summary>
    public void ReadBits(byte unit, byte function, ushort start, ushort count)
    {
        CheckSlave(unit);
        if (function is not (FunctionCode.ReadCoils or FunctionCode.ReadDiscreteInputs))
        {
            throw new ArgumentOutOfRangeException(nameof(function), function, "Bits are read by function 1 or 2.");
        }

        CheckRange(start, count, ModbusLimits.MaximumReadBits, nameof(count));
        Head(unit, function, start, count);
        Finish(6, ReplyShape.OfReadBits(unit, function, count));
    }

    /// <summary>Asks to switch one coil by function 5; unit 0 is a broadcast.</summary>
    public void WriteCoil(byte unit, ushort coil, bool on)
    {
        CheckUnit(unit);
        var value = on ? ModbusLimits.CoilOn : (ushort)0;
        Head(unit, FunctionCode.WriteSingleCoil, coil, value);
        Finish(6, ReplyShape.OfWrite(unit, FunctionCode.WriteSingleCoil, coil, value));
    }

    /// <summary>Asks to switch coils (1 to 1968) by function 15 (0Fh); unit 0 is a broadcast.</summary>
    public void WriteCoils(byte unit, ushort start, ReadOnlySpan<bool> values)
    {
        CheckUnit(unit);
        CheckRange(start, values.Length, ModbusLimits.MaximumWriteCoils, nameof(values));
        Head(unit, FunctionCode.WriteMultipleCoils, start, (ushort)values.Length);
        Finish(PackBits(6, values), ReplyShape.OfWrite(unit, FunctionCode.WriteMultipleCoils, start, (ushort)values.Length));
    }

    /// <summary>Asks to write one register by function 6; unit 0 is a broadcast.</summary>
    public void WriteSingle(byte unit, ushort register, ushort value)
    {
        CheckUnit(unit);
        Head(unit, FunctionCode.WriteSingleRegister, register, value);
        Finish(6, ReplyShape.OfWrite(unit, FunctionCode.WriteSingleRegister, register, value));
    }

    /// <summary>
    /// Asks to change some bits of one register by function 22 (16h): it becomes (itself AND <paramref name="and"/>) OR (<paramref name="or"/> AND NOT
    /// <paramref name="and"/>), so the bits that are 1 in <paramref name="and"/> stay (Modbus Application Protocol V1.1b3, 6.16).
    /// </summary>
    public void MaskWrite(byte unit, ushort register, ushort and, ushort or)
    {
        CheckSlave(unit);
        Head(unit, FunctionCode.MaskWriteRegister, register, and);
        BinaryPrimitives.WriteUInt16BigEndian(_request.AsSpan(6), or);
        Finish(8, ReplyShape.OfMaskWrite(unit, register, and, or));
    }

    /// <summary>Asks for two bytes to come back as they were sent: function 8, sub-function 0 (Modbus Application Protocol V1.1b3, 6.8). Nothing in the slave changes.</summary>
    public void Echo(byte unit, ushort data)
    {
        CheckSlave(unit);
        Head(unit, FunctionCode.Diagnostics, 0, data);
        Finish(6, ReplyShape.OfWrite(unit, FunctionCode.Diagnostics, 0, data));
    }

    /// <summary>Asks for identification objects by function 43, interface 14 (2Bh, 0Eh); see <see cref="IdentificationReading"/>.</summary>
    /// <param name="unit">Address asked.</param>
    /// <param name="access">Which objects.</param>
    /// <param name="firstObject">The object to begin with, or the one that is wanted.</param>
    public void Identify(byte unit, IdentificationAccess access, byte firstObject)
    {
        CheckSlave(unit);
        _request[0] = unit;
        _request[1] = FunctionCode.EncapsulatedInterface;
        _request[2] = DeviceIdentification.Interface;
        _request[3] = (byte)access;
        _request[4] = firstObject;
        Finish(5, ReplyShape.OfIdentification(unit, access));
    }

    /// <summary>Asks to write registers (1 to 123) by function 16 (10h); unit 0 is a broadcast.</summary>
    public void WriteMultiple(byte unit, ushort start, ReadOnlySpan<ushort> values)
    {
        CheckUnit(unit);
        CheckRange(start, values.Length, ModbusLimits.MaximumWrite, nameof(values));
        Head(unit, FunctionCode.WriteMultipleRegisters, start, (ushort)values.Length);
        Finish(Body(6, values), ReplyShape.OfWrite(unit, FunctionCode.WriteMultipleRegisters, start, (ushort)values.Length));
    }

    /// <summary>Asks to write registers (1 to 121), then read registers (1 to 125) by function 23 (17h).</summary>
    public void ReadWrite(byte unit, ushort readStart, ushort readCount, ushort writeStart, ReadOnlySpan<ushort> values)
    {
        CheckSlave(unit);
        CheckRange(readStart, readCount, ModbusLimits.MaximumRead, nameof(readCount));
        CheckRange(writeStart, values.Length, ModbusLimits.MaximumReadWriteWrite, nameof(values));
        Head(unit, FunctionCode.ReadWriteMultipleRegisters, readStart, readCount);
        BinaryPrimitives.WriteUInt16BigEndian(_request.AsSpan(6), writeStart);
        BinaryPrimitives.WriteUInt16BigEndian(_request.AsSpan(8), (ushort)values.Length);
        Finish(Body(10, values), ReplyShape.OfRead(unit, FunctionCode.ReadWriteMultipleRegisters, readCount));
    }

    /// <summary>Register <paramref name="index"/> of the reply.</summary>
    public ushort ReplyRegister(int index)
    {
        if ((uint)index >= (uint)ReplyRegisterCount)
        {
            throw new ArgumentOutOfRangeException(nameof(index), index, "The reply has no such register.");
        }

        return BinaryPrimitives.ReadUInt16BigEndian(_reply.AsSpan(3 + (2 * index)));
    }

    /// <summary>Bit <paramref name="index"/> of the reply: the lowest bit of the first byte is bit 0.</summary>
    public bool ReplyBit(int index)
    {
        if ((uint)index >= (uint)ReplyBitCount)
        {
            throw new ArgumentOutOfRangeException(nameof(index), index, "The reply has no such bit.");
        }

        return (_reply[3 + (index / 8)] & (1 << (index % 8))) != 0;
    }

    /// <summary>Starts an attempt, the first or a retry: forgets how the last one ended. Used by drivers and simulated wires.</summary>
    public void Begin(TimeSpan now)
    {
        if (_requestLength == 0)
        {
            throw new InvalidOperationException("A request must be filled in first.");
        }

        Forget();
        BegunAt = now;
    }

    /// <summary>Ends it with a result that needs no reply bytes; used by drivers and simulated wires.</summary>
    public void End(TransactionResult result, TimeSpan now) => End(result, FrameFault.None, now);

    /// <summary>Ends it with a result that needs no reply bytes, and what was wrong with those that came.</summary>
    public void End(TransactionResult result, FrameFault fault, TimeSpan now)
    {
        if (result is TransactionResult.None or TransactionResult.Reply or TransactionResult.ExceptionReply)
        {
            throw new ArgumentOutOfRangeException(nameof(result), result, "This result comes with a reply frame.");
        }

        Forget();
        Result = result;
        Fault = fault;
        EndedAt = now;
    }

    /// <summary>Ends it with the bytes of one received frame: a reply, an exception, or garbled when they are neither. Used by drivers and simulated wires.</summary>
    public TransactionResult Accept(ReadOnlySpan<byte> frame, TimeSpan now)
    {
        var decoded = RtuDecoder.Reply(frame, Expected);
        if (decoded.State != DecodeState.Frame || decoded.Length != frame.Length)
        {
            End(TransactionResult.Garbled, FaultOf(decoded), now);
            return Result;
        }

        Forget();
        frame.CopyTo(_reply);
        _replyLength = frame.Length;
        ExceptionCode = decoded.IsException ? frame[2] : (byte)0;
        Result = decoded.IsException ? TransactionResult.ExceptionReply : TransactionResult.Reply;
        EndedAt = now;
        return Result;
    }

    private static FrameFault FaultOf(in Decoded decoded) => decoded.State switch
    {
        DecodeState.Incomplete => FrameFault.Cut,
        DecodeState.Frame => FrameFault.TooLong,
        _ => decoded.Fault,
    };

    private static void CheckSlave(byte unit)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(unit, ModbusLimits.FirstUnit);
        CheckUnit(unit);
    }

    private static void CheckUnit(byte unit) => ArgumentOutOfRangeException.ThrowIfGreaterThan(unit, ModbusLimits.LastUnit);

    private static void CheckRange(ushort start, int count, int maximum, string name)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(count, 1, name);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(count, Math.Min(maximum, ModbusLimits.RegisterSpace - start), name);
    }

    private void Head(byte unit, byte function, ushort first, ushort second)
    {
        _request[0] = unit;
        _request[1] = function;
        BinaryPrimitives.WriteUInt16BigEndian(_request.AsSpan(2), first);
        BinaryPrimitives.WriteUInt16BigEndian(_request.AsSpan(4), second);
    }

    private int Body(int at, ReadOnlySpan<ushort> values)
    {
        _request[at++] = (byte)(2 * values.Length);
        foreach (var value in values)
        {
            BinaryPrimitives.WriteUInt16BigEndian(_request.AsSpan(at), value);
            at += 2;
        }

        return at;
    }

    private int PackBits(int at, ReadOnlySpan<bool> values)
    {
        var bytes = (values.Length + 7) / 8;
        _request[at++] = (byte)bytes;
        _request.AsSpan(at, bytes).Clear();
        for (var i = 0; i < values.Length; i++)
        {
            _request[at + (i / 8)] |= (byte)(values[i] ? 1 << (i % 8) : 0);
        }

        return at + bytes;
    }

    private void Finish(int length, in ReplyShape expected)
    {
        _requestLength = Crc16.Append(_request, length);
        Expected = expected;
        Urgent = false;
        Forget();
    }

    private void Forget()
    {
        Result = TransactionResult.None;
        Fault = FrameFault.None;
        ExceptionCode = 0;
        _replyLength = 0;
    }
}

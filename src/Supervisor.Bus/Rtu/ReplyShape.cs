using System.Buffers.Binary;

namespace Supervisor.Bus.Rtu;

/// <summary>All that is known beforehand of the reply to a request. Two requests whose replies have the same shape can not be told apart by their replies.</summary>
/// <param name="Unit">Address that must answer.</param>
/// <param name="Function">Function code that must come back.</param>
/// <param name="Length">Bytes of the whole reply with its CRC; for an identification, which tells its own length, the most there can be.</param>
/// <param name="Echo">What comes back as it was sent, high byte first: four bytes of a write (address, then value or quantity) or diagnosis, six of a mask write, two of an identification; 0 for a read, which echoes nothing.</param>
public readonly record struct ReplyShape(byte Unit, byte Function, int Length, ulong Echo)
{
    /// <summary>Bytes of an exception reply: address, function, code, CRC.</summary>
    public const int ExceptionLength = 5;

    /// <summary>Bytes of the reply to a write or diagnosis: address, function, four echoed bytes, CRC.</summary>
    public const int EchoLength = 8;

    /// <summary>Bytes of the reply to a mask write: address, function, six echoed bytes, CRC.</summary>
    public const int MaskEchoLength = 10;

    /// <summary>True when the third byte of the reply counts its data bytes.</summary>
    public bool HasByteCount =>
        HasBits || Function is FunctionCode.ReadHoldingRegisters or FunctionCode.ReadInputRegisters or FunctionCode.ReadWriteMultipleRegisters;

    /// <summary>True when the data bytes are bits.</summary>
    public bool HasBits => Function is FunctionCode.ReadCoils or FunctionCode.ReadDiscreteInputs;

    /// <summary>True when the reply is the request byte for byte (Modbus Application Protocol V1.1b3, 6.5, 6.6, 6.8 and 6.16).</summary>
    public bool RepeatsRequest =>
        Function is FunctionCode.WriteSingleCoil or FunctionCode.WriteSingleRegister or FunctionCode.Diagnostics or FunctionCode.MaskWriteRegister;

    /// <summary>Data bytes of the reply to a read.</summary>
    public int ByteCount => Length - 5;

    /// <summary>True when the reply counts its objects, and each object its bytes.</summary>
    public bool HasObjects => Function == FunctionCode.EncapsulatedInterface;

    /// <summary>Reply to a read of <paramref name="registers"/> registers.</summary>
    public static ReplyShape OfRead(byte unit, byte function, int registers) => new(unit, function, 5 + (2 * registers), 0);

    /// <summary>Reply to a read of <paramref name="bits"/> coils or discrete inputs.</summary>
    public static ReplyShape OfReadBits(byte unit, byte function, int bits) => new(unit, function, 5 + ((bits + 7) / 8), 0);

    /// <summary>Reply to a write that echoes <paramref name="address"/> and <paramref name="valueOrQuantity"/>.</summary>
    public static ReplyShape OfWrite(byte unit, byte function, ushort address, ushort valueOrQuantity) =>
        new(unit, function, EchoLength, ((uint)address << 16) | valueOrQuantity);

    /// <summary>Reply to a mask write, which echoes all of it.</summary>
    public static ReplyShape OfMaskWrite(byte unit, ushort register, ushort and, ushort or) =>
        new(unit, FunctionCode.MaskWriteRegister, MaskEchoLength, ((ulong)register << 32) | ((uint)and << 16) | or);

    /// <summary>Reply to a reading of identification objects by <paramref name="access"/>.</summary>
    public static ReplyShape OfIdentification(byte unit, IdentificationAccess access) =>
        new(unit, FunctionCode.EncapsulatedInterface, Transaction.MaximumFrameBytes, ((uint)DeviceIdentification.Interface << 8) | (byte)access);

    /// <summary>True when the bytes behind the function code of a whole reply are those that must come back.</summary>
    internal bool EchoFits(ReadOnlySpan<byte> body) => Length == MaskEchoLength
        ? (((ulong)BinaryPrimitives.ReadUInt32BigEndian(body) << 16) | BinaryPrimitives.ReadUInt16BigEndian(body[4..])) == Echo
        : BinaryPrimitives.ReadUInt32BigEndian(body) == Echo;
}

namespace Supervisor.Bus.Rtu;

/// <summary>All that is known beforehand of the reply to a request. Two requests whose replies have the same shape can not be told apart by their replies.</summary>
/// <param name="Unit">Address that must answer.</param>
/// <param name="Function">Function code that must come back.</param>
/// <param name="Length">Bytes of the whole reply with its CRC.</param>
/// <param name="Echo">For a write the four bytes it echoes (address, then value or quantity); 0 for a read, which echoes nothing.</param>
public readonly record struct ReplyShape(byte Unit, byte Function, int Length, uint Echo)
{
    /// <summary>Bytes of an exception reply: address, function, code, CRC.</summary>
    public const int ExceptionLength = 5;

    /// <summary>Bytes of the reply to a write: address, function, four echoed bytes, CRC.</summary>
    public const int EchoLength = 8;

    /// <summary>True when the third byte of the reply counts its data bytes.</summary>
    public bool HasByteCount =>
        HasBits || Function is FunctionCode.ReadHoldingRegisters or FunctionCode.ReadInputRegisters or FunctionCode.ReadWriteMultipleRegisters;

    /// <summary>True when the data bytes are bits.</summary>
    public bool HasBits => Function is FunctionCode.ReadCoils or FunctionCode.ReadDiscreteInputs;

    /// <summary>Data bytes of the reply to a read.</summary>
    public int ByteCount => Length - 5;

    /// <summary>Reply to a read of <paramref name="registers"/> registers.</summary>
    public static ReplyShape OfRead(byte unit, byte function, int registers) => new(unit, function, 5 + (2 * registers), 0);

    /// <summary>Reply to a read of <paramref name="bits"/> coils or discrete inputs.</summary>
    public static ReplyShape OfReadBits(byte unit, byte function, int bits) => new(unit, function, 5 + ((bits + 7) / 8), 0);

    /// <summary>Reply to a write that echoes <paramref name="address"/> and <paramref name="valueOrQuantity"/>.</summary>
    public static ReplyShape OfWrite(byte unit, byte function, ushort address, ushort valueOrQuantity) =>
        new(unit, function, EchoLength, ((uint)address << 16) | valueOrQuantity);
}

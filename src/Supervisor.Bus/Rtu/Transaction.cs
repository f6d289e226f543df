namespace Supervisor.Bus.Rtu;

/// <summary>How one request on the wire ended.</summary>
public enum TransactionResult : byte
{
    /// <summary>Not run yet.</summary>
    None = 0,

    /// <summary>A matching reply; its data can be read.</summary>
    Reply = 1,

    /// <summary>The slave answered with an exception code.</summary>
    ExceptionReply = 2,

    /// <summary>No byte of a matching reply by the deadline.</summary>
    TimedOut = 3,

    /// <summary>Bytes came that are no valid reply to this request: bad CRC, cut, too long, wrong shape.</summary>
    Garbled = 4,

    /// <summary>The device behind the link is gone.</summary>
    LinkGone = 5,
}

/// <summary>One request and its reply in buffers that are made once and used again: nothing is allocated per exchange.</summary>
/// <remarks>A stepper fills in the request, a driver runs it, the stepper reads the reply. One owner at a time.</remarks>
public sealed class Transaction
{
    /// <summary>Largest RTU frame (Modbus over Serial Line V1.02: 256 bytes).</summary>
    public const int MaximumFrameBytes = 256;

    /// <summary>Address asked, 0 for a broadcast.</summary>
    public byte Unit => throw new NotImplementedException();

    /// <summary>Function code asked.</summary>
    public byte Function => throw new NotImplementedException();

    /// <summary>The whole request frame with its CRC.</summary>
    public ReadOnlySpan<byte> RequestFrame => throw new NotImplementedException();

    /// <summary>How it ended.</summary>
    public TransactionResult Result { get; private set; }

    /// <summary>Exception code of the slave; 0 unless <see cref="Result"/> is <see cref="TransactionResult.ExceptionReply"/>.</summary>
    public byte ExceptionCode { get; private set; }

    /// <summary>How long a reply may take to begin and end, counted from the last byte of the request.</summary>
    public TimeSpan ReplyTimeout { get; set; }

    /// <summary>Monotonic time at which the first byte of the request was handed to the link.</summary>
    public TimeSpan BegunAt { get; set; }

    /// <summary>Monotonic time at which the result was known.</summary>
    public TimeSpan EndedAt { get; set; }

    /// <summary>The whole reply frame, CRC included; empty unless a reply or exception came.</summary>
    public ReadOnlySpan<byte> ReplyFrame => throw new NotImplementedException();

    /// <summary>Asks to read <paramref name="count"/> registers by function 3 or 4.</summary>
    public void Read(byte unit, byte function, ushort start, ushort count) => throw new NotImplementedException();

    /// <summary>Asks to write one register by function 6.</summary>
    public void WriteSingle(byte unit, ushort register, ushort value) => throw new NotImplementedException();

    /// <summary>Asks to write registers by function 16 (10h).</summary>
    public void WriteMultiple(byte unit, ushort start, ReadOnlySpan<ushort> values) => throw new NotImplementedException();

    /// <summary>Asks to write, then read registers by function 23 (17h).</summary>
    public void ReadWrite(byte unit, ushort readStart, ushort readCount, ushort writeStart, ReadOnlySpan<ushort> values) =>
        throw new NotImplementedException();

    /// <summary>Registers in the reply of a read or read-write; 0 otherwise.</summary>
    public int ReplyRegisterCount => throw new NotImplementedException();

    /// <summary>Register <paramref name="index"/> of the reply.</summary>
    public ushort ReplyRegister(int index) => throw new NotImplementedException();

    /// <summary>Ends it with a result that needs no reply bytes; used by drivers and simulated wires.</summary>
    public void End(TransactionResult result, TimeSpan now) => throw new NotImplementedException();
}

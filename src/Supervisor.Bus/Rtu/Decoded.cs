namespace Supervisor.Bus.Rtu;

/// <summary>What the bytes so far are.</summary>
public enum DecodeState : byte
{
    /// <summary>The beginning of a frame: nothing is consumed, more must come.</summary>
    Incomplete = 0,

    /// <summary>A whole frame with a good CRC.</summary>
    Frame = 1,

    /// <summary>Nothing that could still become the frame.</summary>
    Invalid = 2,
}

/// <summary>What is wrong with received bytes.</summary>
public enum FrameFault : byte
{
    None = 0,

    /// <summary>The check sum does not fit.</summary>
    BadCrc = 1,

    /// <summary>Another address.</summary>
    WrongUnit = 2,

    /// <summary>Another function code than the one asked, or one whose length is not known.</summary>
    WrongFunction = 3,

    /// <summary>The byte count is not what was asked for, or more than a frame can hold.</summary>
    WrongByteCount = 4,

    /// <summary>A write was answered with another address, value or quantity.</summary>
    WrongEcho = 5,

    /// <summary>An exception reply with code 0.</summary>
    BadExceptionCode = 6,

    /// <summary>More bytes than the frame has.</summary>
    TooLong = 7,

    /// <summary>The frame stopped before its end.</summary>
    Cut = 8,

    /// <summary>The request itself came back: the adapter hears what it sends.</summary>
    OwnRequest = 9,
}

/// <summary>Answer of the decoder.</summary>
/// <param name="State">Incomplete, frame or invalid.</param>
/// <param name="Length">Bytes of the frame; for a bad CRC the bytes that were checked; 0 otherwise.</param>
/// <param name="Fault">Why it is invalid.</param>
/// <param name="IsException">True when the frame is an exception reply.</param>
public readonly record struct Decoded(DecodeState State, int Length, FrameFault Fault, bool IsException)
{
    internal static Decoded Incomplete => default;

    internal static Decoded Frame(int length, bool isException = false) => new(DecodeState.Frame, length, FrameFault.None, isException);

    internal static Decoded Invalid(FrameFault fault, int length = 0) => new(DecodeState.Invalid, length, fault, false);
}

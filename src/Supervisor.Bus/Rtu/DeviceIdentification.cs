namespace Supervisor.Bus.Rtu;

/// <summary>Which identification objects a request asks for, by the numbers of the protocol.</summary>
public enum IdentificationAccess : byte
{
    /// <summary>Objects 0 to 2, which every device that has any of them has.</summary>
    Basic = 1,

    /// <summary>Objects 0 to 7Fh.</summary>
    Regular = 2,

    /// <summary>All objects.</summary>
    Extended = 3,

    /// <summary>One object.</summary>
    One = 4,
}

/// <summary>
/// What a device tells of itself by function 43, interface 14 (Modbus Application Protocol V1.1b3, 6.21). A reply is address, function, interface,
/// access, conformity, more follows, next object, count of objects, then of each its number, its bytes' count and its bytes, and the CRC.
/// </summary>
public static class DeviceIdentification
{
    /// <summary>Number of the interface (0Eh).</summary>
    public const byte Interface = 14;

    /// <summary>Object: name of the maker.</summary>
    public const byte VendorName = 0;

    /// <summary>Object: the maker's code of the product.</summary>
    public const byte ProductCode = 1;

    /// <summary>Object: version.</summary>
    public const byte Revision = 2;

    /// <summary>Object: the maker's address on the web.</summary>
    public const byte VendorUrl = 3;

    /// <summary>Object: name of the product.</summary>
    public const byte ProductName = 4;

    /// <summary>Object: name of the model.</summary>
    public const byte ModelName = 5;

    /// <summary>Object: what its user calls it.</summary>
    public const byte UserApplicationName = 6;

    /// <summary>Last object of regular access; those above are the maker's own.</summary>
    public const byte LastRegular = 0x7F;

    /// <summary>Set in the conformity level of a device that also tells one object at a time.</summary>
    public const byte IndividualBit = 0x80;

    /// <summary>In a reply: another request is needed for the rest.</summary>
    public const byte MoreFollows = 0xFF;

    /// <summary>Most bytes of one object: what a frame of 256 bytes has left.</summary>
    public const int MaximumObjectBytes = Transaction.MaximumFrameBytes - FirstObject - 2 - Crc16.Size;

    /// <summary>Bytes of a request with its CRC.</summary>
    internal const int RequestLength = 7;

    internal const int AccessAt = 3;
    internal const int ConformityAt = 4;
    internal const int MoreAt = 5;
    internal const int NextAt = 6;
    internal const int CountAt = 7;
    internal const int FirstObject = 8;

    /// <summary>The bytes of an object without blanks and zeros at its ends, which some devices fill up with.</summary>
    public static ReadOnlySpan<byte> Trimmed(ReadOnlySpan<byte> bytes) => bytes.Trim([(byte)0, (byte)' ']);

    /// <summary>Bytes of a whole reply with its CRC by what came of it; -1 while too little came to tell. A length beyond a frame's is no reply.</summary>
    internal static int ReplyLength(ReadOnlySpan<byte> received)
    {
        if (received.Length < FirstObject)
        {
            return -1;
        }

        var at = FirstObject;
        for (var objects = received[CountAt]; objects > 0; objects--)
        {
            // Two bytes at least for each that is still to come: a count that can't fit is known at once.
            if (at + (2 * objects) + Crc16.Size > Transaction.MaximumFrameBytes)
            {
                return int.MaxValue;
            }

            if (received.Length < at + 2)
            {
                return -1;
            }

            at += 2 + received[at + 1];
        }

        return at + Crc16.Size;
    }
}

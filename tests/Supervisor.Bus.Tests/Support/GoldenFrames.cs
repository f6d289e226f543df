using Supervisor.Bus.Rtu;

namespace Supervisor.Bus.Tests.Support;

/// <summary>
/// Worked examples of the MODBUS Application Protocol Specification V1.1b3, section 6 (the PDUs, read in the primary text); address 01 and the CRCs
/// computed by the formula of MODBUS over Serial Line Specification V1.02, appendix B.
/// </summary>
internal static class GoldenFrames
{
    /// <summary>Section 6.3.</summary>
    public const string ReadHoldingRequest = "01 03 00 6B 00 03 74 17";
    public const string ReadHoldingReply = "01 03 06 02 2B 00 00 00 64 05 7A";

    /// <summary>Section 6.4.</summary>
    public const string ReadInputRequest = "01 04 00 08 00 01 B0 08";
    public const string ReadInputReply = "01 04 02 00 0A 39 37";

    /// <summary>Section 6.6; the reply echoes the request.</summary>
    public const string WriteSingle = "01 06 00 01 00 03 98 0B";

    /// <summary>Section 6.12.</summary>
    public const string WriteMultipleRequest = "01 10 00 01 00 02 04 00 0A 01 02 92 30";
    public const string WriteMultipleReply = "01 10 00 01 00 02 10 08";

    /// <summary>Section 6.17.</summary>
    public const string ReadWriteRequest = "01 17 00 03 00 06 00 0E 00 03 06 00 FF 00 FF 00 FF 46 91";
    public const string ReadWriteReply = "01 17 0C 00 FE 0A CD 00 01 00 03 00 0D 00 FF 1D 79";

    /// <summary>Section 6.1; the bytes are values from memory.</summary>
    public const string ReadBitsRequest = "01 01 00 13 00 13 8C 02";
    public const string ReadBitsReply = "01 01 03 CD 6B 05 42 82";

    /// <summary>Section 6.2; the bytes are values from memory.</summary>
    public const string ReadInputsRequest = "01 02 00 C4 00 16 B8 39";
    public const string ReadInputsReply = "01 02 03 AC DB 35 22 88";

    /// <summary>Section 6.5; the reply echoes the request.</summary>
    public const string WriteCoil = "01 05 00 AC FF 00 4C 1B";

    /// <summary>Section 6.11.</summary>
    public const string WriteCoilsRequest = "01 0F 00 13 00 0A 02 CD 01 72 CB";
    public const string WriteCoilsReply = "01 0F 00 13 00 0A 24 09";

    /// <summary>Section 6.8, sub-function 0; the reply echoes the request.</summary>
    public const string Echo = "01 08 00 00 A5 37 DA 8D";

    /// <summary>Section 6.16; the reply echoes the request.</summary>
    public const string MaskWrite = "01 16 00 04 00 F2 00 25 67 EE";

    /// <summary>Section 6.21: the basic objects from 0 on.</summary>
    public const string IdentifyRequest = "01 2B 0E 01 00 70 77";

    /// <summary>Put together from the fields of section 6.21, whose own examples contradict themselves; the texts are invented.</summary>
    public static readonly string IdentifyReply = Convert.ToHexString(Hex.WithCrc("01 2B 0E 01 81 00 00 03 00 05 4D 61 6B 65 72 01 04 54 53 2D 34 02 03 31 2E 32"));

    /// <summary>Section 7: a request the slave has no such address for, and its exception.</summary>
    public const string ReadCoilsRequest = "01 01 04 A1 00 01 AD 18";
    public const string ReadCoilsException = "01 81 02 C1 91";

    /// <summary>Frames whose lengths a slave or master must know though this program does not send them.</summary>
    public static readonly string[] OtherRequests = [ReadCoilsRequest];

    public static readonly string[] OtherReplies = [ReadCoilsException];

    /// <summary>Requests of the functions spoken here.</summary>
    public static readonly string[] Requests = [.. Pairs.Select(pair => pair.Data.Item1)];

    /// <summary>Requests and replies of the functions spoken here, as names for theories.</summary>
    public static TheoryData<string, string> Pairs => new()
    {
        { ReadHoldingRequest, ReadHoldingReply },
        { ReadInputRequest, ReadInputReply },
        { WriteSingle, WriteSingle },
        { WriteMultipleRequest, WriteMultipleReply },
        { ReadWriteRequest, ReadWriteReply },
        { ReadBitsRequest, ReadBitsReply },
        { ReadInputsRequest, ReadInputsReply },
        { WriteCoil, WriteCoil },
        { WriteCoilsRequest, WriteCoilsReply },
        { Echo, Echo },
        { MaskWrite, MaskWrite },
        { IdentifyRequest, IdentifyReply },
    };

    /// <summary>The transaction that makes a golden request.</summary>
    public static Transaction Transaction(string request)
    {
        var transaction = new Transaction { ReplyTimeout = TimeSpan.FromMilliseconds(20) };
        switch (request)
        {
            case ReadHoldingRequest:
                transaction.Read(1, 3, 0x6B, 3);
                break;
            case ReadInputRequest:
                transaction.Read(1, 4, 8, 1);
                break;
            case WriteSingle:
                transaction.WriteSingle(1, 1, 3);
                break;
            case WriteMultipleRequest:
                transaction.WriteMultiple(1, 1, [0x000A, 0x0102]);
                break;
            case ReadWriteRequest:
                transaction.ReadWrite(1, 3, 6, 0x0E, [0x00FF, 0x00FF, 0x00FF]);
                break;
            case ReadBitsRequest:
                transaction.ReadBits(1, 1, 0x13, 0x13);
                break;
            case ReadInputsRequest:
                transaction.ReadBits(1, 2, 0xC4, 0x16);
                break;
            case WriteCoil:
                transaction.WriteCoil(1, 0xAC, true);
                break;
            case WriteCoilsRequest:
                // CDh 01h, the lowest bit first.
                transaction.WriteCoils(1, 0x13, [true, false, true, true, false, false, true, true, true, false]);
                break;
            case Echo:
                transaction.Echo(1, 0xA537);
                break;
            case MaskWrite:
                transaction.MaskWrite(1, 4, 0x00F2, 0x0025);
                break;
            case IdentifyRequest:
                transaction.Identify(1, IdentificationAccess.Basic, DeviceIdentification.VendorName);
                break;
            default:
                throw new ArgumentException("No such golden request.", nameof(request));
        }

        return transaction;
    }
}

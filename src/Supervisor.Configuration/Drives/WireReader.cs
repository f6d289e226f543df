using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Drives;

/// <summary>Reads how registers travel. Limits are those of the MODBUS Application Protocol Specification V1.1b3, section 6.</summary>
/// <remarks>
/// Left out: read function 3 with 125 registers, write function 16 with 123 (function 6: one), word order high first, first register 0, no turnaround,
/// busy exception 6, no broadcast stop, bytes of a register high first, no 32-bit values by function 6.
/// </remarks>
internal sealed class WireReader(FileErrors errors)
{
    private const int MostRead = 125;
    private const int MostWritten = 123;
    private const byte WriteSingle = 6;
    private const byte WriteMultiple = 16;
    private const byte DeviceBusy = 6;

    private static readonly NumberRange FirstRegisters = new(0, 1_000_000, "");

    private static readonly Choices<ByteOrder> ByteOrders = new(("highFirst", ByteOrder.HighFirst), ("lowFirst", ByteOrder.LowFirst));

    private static readonly Choices<WordSplit> Splits = new(("highThenLow", WordSplit.HighThenLow), ("lowThenHigh", WordSplit.LowThenHigh));

    private static readonly Choices<WordOrder> WordOrders = new(("highFirst", WordOrder.HighFirst), ("lowFirst", WordOrder.LowFirst));

    public WireDefinition Read(ObjectReader file)
    {
        if (file.Object("wire", DriveShapes.Wire, "functions and sizes of requests the drive serves") is not { } wire)
        {
            return new WireDefinition(3, MostRead, WriteMultiple, MostWritten, false, WordOrder.HighFirst, 0, TimeSpan.Zero, [DeviceBusy], false);
        }

        var (readFunction, mostRead) = ReadRead(wire);
        var (writeFunction, mostWritten, split) = ReadWrite(wire);
        var both = wire.Object("readWrite", DriveShapes.ReadWrite);
        both?.Integer("function", new NumberRange(23, 23, "(write, then read)"), "23");
        return new WireDefinition(
            readFunction,
            mostRead,
            writeFunction,
            mostWritten,
            both is not null,
            wire.Choice("wordOrder", WordOrders, WordOrder.HighFirst) ?? default,
            wire.Integer("firstRegister", FirstRegisters, fallback: 0) ?? 0,
            Milliseconds.ToTime(wire.Number("turnaroundMs", new NumberRange(0, 1000, Milliseconds.Unit), fallback: 0)),
            ReadBusy(wire),
            wire.Flag("broadcastStop", fallback: false))
        {
            ByteOrder = wire.Choice("byteOrder", ByteOrders, ByteOrder.HighFirst) ?? default,
            FirstInputRegister = wire.Find("firstInputRegister") is null ? null : wire.Integer("firstInputRegister", FirstRegisters, fallback: 0),
            Split = split,
        };
    }

    private static (byte Function, int Most) ReadRead(ObjectReader wire)
    {
        if (wire.Object("read", DriveShapes.Read, "function and size of reads") is not { } read)
        {
            return (3, MostRead);
        }

        var function = read.Integer("function", new NumberRange(3, 4, "(3 holding, 4 input registers)"), fallback: 3);
        var most = read.Integer("maxRegisters", new NumberRange(1, MostRead, "registers"), fallback: MostRead);
        return ((byte)(function ?? 3), most ?? MostRead);
    }

    private static (byte Function, int Most, WordSplit? Split) ReadWrite(ObjectReader wire)
    {
        if (wire.Object("write", DriveShapes.Write, "function and size of writes") is not { } write)
        {
            return (WriteMultiple, MostWritten, null);
        }

        var function = write.Integer("function", new NumberRange(0, 255, ""), fallback: WriteMultiple);
        if (function is not (null or WriteSingle or WriteMultiple))
        {
            write.Refuse("function", $"{function} is no function that writes registers here; 6 (one register) or 16 is expected");
            function = null;
        }

        var most = write.Integer("maxRegisters", new NumberRange(1, MostWritten, "registers"), fallback: function == WriteSingle ? 1 : MostWritten);
        if (function == WriteSingle && most > 1)
        {
            write.Refuse("maxRegisters", $"function 6 writes one register, not {most}; give 1, or function 16");
        }

        WordSplit? split = write.Find("split") is null ? null : write.Choice("split", Splits, WordSplit.HighThenLow);
        if (split is not null && function is WriteMultiple)
        {
            write.Refuse("split", "function 16 writes both words of a value in one frame; take \"split\" out");
        }

        return ((byte)(function ?? WriteMultiple), most ?? MostWritten, split);
    }

    private byte[] ReadBusy(ObjectReader wire)
    {
        if (wire.Find("busyExceptions") is null)
        {
            return [DeviceBusy];
        }

        var once = new UsedOnce<int>(errors);
        var codes = new List<byte>();
        foreach (var node in wire.Items("busyExceptions"))
        {
            if (Values.Integer(node, new NumberRange(1, 255, "(an exception code)"), errors) is { } code)
            {
                once.Note(code, node, line => $"{code} is listed twice; first in line {line}");
                codes.Add((byte)code);
            }
        }

        return [.. codes];
    }
}

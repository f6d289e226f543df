using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads the inputs and outputs of a module. Quantities are those of the MODBUS Application Protocol Specification V1.1b3, section 6.</summary>
/// <remarks>
/// Left out: 16 bits a register, the lowest bit and the register of the lowest bits first, bytes high first. Outputs are read back where they are
/// written: coils by function 1, registers by function 3.
/// </remarks>
internal sealed class ModuleBitsReader(ObjectReader module, FileErrors errors)
{
    private const int Space = 65536;

    private static readonly string[] PackingMembers = ["bitsPerRegister", "bitOrder", "byteOrder", "wordOrder"];

    private static readonly Choices<BitOrder> BitOrders = new(("lowFirst", BitOrder.LowFirst), ("highFirst", BitOrder.HighFirst));

    private static readonly Choices<ByteOrder> ByteOrders = new(("highFirst", ByteOrder.HighFirst), ("lowFirst", ByteOrder.LowFirst));

    private static readonly Choices<WordOrder> WordOrders = new(("lowFirst", WordOrder.LowFirst), ("highFirst", WordOrder.HighFirst));

    public ModuleInputs? ReadInputs()
    {
        if (module.Object("inputs", MachineShapes.ModuleInputs) is not { } inputs)
        {
            return null;
        }

        var function = ReadFunction(inputs, [1, 2, 3, 4], "1 (coils), 2 (discrete inputs), 3 (holding registers) or 4 (input registers)");
        var (start, bits, packing) = ReadPlace(inputs, function, IsRead: true);
        return new ModuleInputs((byte)function, (ushort)start, bits, packing, ReadNames(inputs, bits));
    }

    public ModuleOutputs? ReadOutputs()
    {
        if (module.Object("outputs", MachineShapes.ModuleOutputs) is not { } outputs)
        {
            return null;
        }

        var function = ReadFunction(outputs, [5, 6, 15, 16, 22], "5 (one coil), 15 (coils), 6 (one register), 16 (registers) or 22 (bits of one register)");
        var (start, bits, packing) = ReadPlace(outputs, function, IsRead: false);
        return new ModuleOutputs(
            (byte)function, (ushort)start, bits, packing, ReadNames(outputs, bits), ReadReadBack(outputs, function, start, bits, packing));
    }

    /// <summary>0 with an error told.</summary>
    private static int ReadFunction(ObjectReader list, int[] known, string what)
    {
        var function = list.Integer("function", new NumberRange(0, 255, ""), $"the Modbus function: {what}");
        if (function is { } code && !known.Contains(code))
        {
            list.Refuse("function", $"{code} is no function for this; {what} is expected");
            return 0;
        }

        return function ?? 0;
    }

    private static (int Start, int Bits, BitPacking Packing) ReadPlace(ObjectReader list, int function, bool IsRead)
    {
        var start = list.Integer("start", new NumberRange(0, Space - 1, "(the address on the wire, from 0)"), "address on the wire of the first one");
        var bits = list.Integer("bits", new NumberRange(1, IsRead ? 2000 : 1968, "bits"), "how many there are");
        var packing = ReadPacking(list, function);
        if (start is { } first && bits is { } count && function > 0)
        {
            CheckSize(list, function, first, count, packing, IsRead);
        }

        return (start ?? 0, bits ?? 0, packing);
    }

    private static void CheckSize(ObjectReader list, int function, int start, int bits, BitPacking packing, bool isRead)
    {
        var isPacked = IsPacked(function);
        var size = isPacked ? packing.Registers(bits) : bits;
        var most = isRead ? 125 : 123;
        if (isPacked && size > most)
        {
            list.Refuse("bits", $"{bits} bits take {size} registers; one request {(isRead ? "reads" : "writes")} at most {most}");
        }
        else if (start + size > Space)
        {
            list.Refuse("bits", $"{bits} bits from {start} on end beyond the last address {Space - 1}");
        }
    }

    private static BitPacking ReadPacking(ObjectReader list, int function)
    {
        if (function > 0 && !IsPacked(function))
        {
            foreach (var member in PackingMembers)
            {
                if (list.Find(member) is not null)
                {
                    list.Refuse(member, $"says how bits lie in registers, but function {function} carries single bits; take it out");
                }
            }

            return new BitPacking(16, default, default, WordOrder.LowFirst);
        }

        return new BitPacking(
            list.Integer("bitsPerRegister", new NumberRange(1, 16, ""), fallback: 16) ?? 16,
            list.Choice("bitOrder", BitOrders, BitOrder.LowFirst) ?? default,
            list.Choice("byteOrder", ByteOrders, ByteOrder.HighFirst) ?? default,
            list.Choice("wordOrder", WordOrders, WordOrder.LowFirst) ?? WordOrder.LowFirst);
    }

    private Dictionary<string, int> ReadNames(ObjectReader list, int bits)
    {
        var once = new UsedOnce<int>(errors);
        var names = new Dictionary<string, int>(StringComparer.Ordinal);
        foreach (var member in list.Entries("names"))
        {
            Names.Check(member.NameOffset, member.Value.Path, member.Name, "/", errors);
            if (member.Name.Length > 0 && member.Name.All(char.IsAsciiDigit))
            {
                errors.Add(member.NameOffset, member.Value.Path, "a name of digits alone would read as the number of a bit; choose another");
            }

            var bit = Values.Integer(member.Value, bits > 0 ? new NumberRange(0, bits - 1, "(a bit, from 0)") : new NumberRange(0, Space, ""), errors);
            if (bit is { } number)
            {
                once.Note(number, member.Value, line => $"bit {number} is named twice; first in line {line}");
                names[member.Name] = number;
            }
        }

        return names;
    }

    private ModuleReadBack? ReadReadBack(ObjectReader outputs, int function, int start, int bits, BitPacking packing)
    {
        var natural = new ModuleReadBack((byte)(IsPacked(function) ? 3 : 1), (ushort)start);
        if (outputs.Find("readBack") is not { } node)
        {
            return natural;
        }

        if (node.Kind == NodeKind.Text)
        {
            if (node.Text != "none")
            {
                errors.Add(node, $"{Show.Quoted(node.Text)} is unknown; \"none\", or {{ \"function\": …, \"start\": … }} is expected");
            }

            return null;
        }

        if (node.Kind != NodeKind.Object)
        {
            errors.WrongKind(node, "\"none\", or { \"function\": …, \"start\": … }");
            return null;
        }

        var readBack = ObjectReader.Open(node, MachineShapes.ModuleReadBack, errors)!;
        var by = ReadFunction(readBack, [1, 2, 3, 4], "1, 2, 3 or 4");
        var from = readBack.Integer("start", new NumberRange(0, Space - 1, "(the address on the wire, from 0)"), fallback: start) ?? 0;
        if (by > 0 && function > 0 && IsPacked(by) != IsPacked(function))
        {
            readBack.Refuse("function", $"function {function} writes {Kind(function)}, but function {by} reads {Kind(by)}");
        }
        else if (by > 0 && bits > 0 && from + (IsPacked(by) ? packing.Registers(bits) : bits) > Space)
        {
            readBack.Refuse("start", $"{bits} bits from {from} on end beyond the last address {Space - 1}");
        }

        return new ModuleReadBack((byte)by, (ushort)from);
    }

    private static bool IsPacked(int function) => function is 3 or 4 or 6 or 16 or 22;

    private static string Kind(int function) => IsPacked(function) ? "registers" : "single bits";
}

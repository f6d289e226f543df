using System.Globalization;
using System.Numerics;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Drives;

/// <summary>Reads which bits of a field carry its value.</summary>
internal sealed class FieldValues(FileErrors errors)
{
    /// <summary>The bits of the value; 0 when it has all of them, or with an error told.</summary>
    public uint Mask(ObjectReader field, RegisterField result, FieldUse use)
    {
        if (field.Find("mask") is not { } node)
        {
            return 0;
        }

        if (ReadBits(node) is not { } mask)
        {
            return 0;
        }

        var all = result.Width == 2 ? uint.MaxValue : ushort.MaxValue;
        if (mask == 0 || mask > all)
        {
            errors.Add(node, $"{Show.Digits(node.Text)} must have bits, and only such as a field of type {Show.Quoted(Word(result.Type))} has: at most 0x{all:X}");
            return 0;
        }

        var run = (ulong)mask >> BitOperations.TrailingZeroCount(mask);
        if ((run & (run + 1)) != 0)
        {
            errors.Add(node, $"{Show.Digits(node.Text)} has a gap; one run of bits is expected, such as 0x0FF0");
            return 0;
        }

        if (use == FieldUse.Parameter && result.Access != RegisterAccess.Read)
        {
            errors.Add(node, "a parameter that is written takes its whole register; give access \"read\", or take \"mask\" out");
        }

        return (uint)mask == all ? 0 : (uint)mask;
    }

    /// <summary>The raw numbers by which the drive says that it does not know its position.</summary>
    public IReadOnlyList<uint> Sentinels(ObjectReader field, RegisterField result, FieldUse use)
    {
        if (field.Find("sentinels") is not { } node)
        {
            return [];
        }

        if (use != FieldUse.Feedback || result.Name != FieldNames.Position)
        {
            errors.Add(node, $"only the feedback field {Show.Quoted(FieldNames.Position)} may be unknown; take it out");
            return [];
        }

        if (node.Kind != NodeKind.Array || node.Items.Count == 0)
        {
            errors.WrongKind(node, "an array of the register's numbers that mean \"not known\", such as [\"0x80000000\"]");
            return [];
        }

        var all = result.Width == 2 ? uint.MaxValue : ushort.MaxValue;
        var numbers = new List<uint>();
        foreach (var item in node.Items)
        {
            if (ReadBits(item) is { } raw)
            {
                if (raw > all)
                {
                    errors.Add(item, $"{Show.Digits(item.Text)} is more than a field of type {Show.Quoted(Word(result.Type))} holds: at most 0x{all:X}");
                }

                numbers.Add((uint)raw);
            }
        }

        return numbers;
    }

    /// <summary>A whole number, or hexadecimal digits in a text, as manuals give masks.</summary>
    private uint? ReadBits(Node node)
    {
        if (node.Kind == NodeKind.Text && node.Text.StartsWith("0x", StringComparison.Ordinal)
            && uint.TryParse(node.Text.AsSpan(2), NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture, out var bits))
        {
            return bits;
        }

        if (node.Kind == NodeKind.Number && node.Number is >= 0 and <= uint.MaxValue && Math.Floor(node.Number) == node.Number)
        {
            return (uint)node.Number;
        }

        errors.WrongKind(node, "a whole number from 0 to 4294967295, or a text such as \"0x0FFF\"");
        return null;
    }

    private static string Word(RegisterType type) => type switch
    {
        RegisterType.U16 => "u16",
        RegisterType.S16 => "s16",
        RegisterType.U32 => "u32",
        _ => "s32",
    };
}

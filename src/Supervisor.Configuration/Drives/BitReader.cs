using System.Globalization;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Drives;

/// <summary>Reads bits: <c>FIELD.BIT</c>, with <c> rising</c> behind it where the rising edge acts.</summary>
internal sealed class BitReader(FileErrors errors)
{
    private const string RisingSuffix = " rising";

    /// <summary>The bit, or null with an error told (or where the file has none).</summary>
    public BitReference? Read(Node? node, IReadOnlyList<FieldDraft> fields, string list, bool mayRise)
    {
        if (node is null || Values.Text(node, errors) is not { } text)
        {
            return null;
        }

        var rising = text.EndsWith(RisingSuffix, StringComparison.Ordinal);
        var place = rising ? text[..^RisingSuffix.Length] : text;
        var dot = place.LastIndexOf('.');
        if (dot <= 0 || !int.TryParse(place.AsSpan(dot + 1), NumberStyles.None, CultureInfo.InvariantCulture, out var bit))
        {
            var form = mayRise ? "FIELD.BIT or FIELD.BIT rising" : "FIELD.BIT";
            errors.Add(node, $"{Show.Quoted(text)} names no bit; {form} is expected, such as \"status.3\"");
            return null;
        }

        if (rising && !mayRise)
        {
            errors.Add(node, $"{Show.Quoted(text)}: this bit is a level; take \"rising\" off");
        }

        return Check(node, new BitReference(place[..dot], bit, rising), fields, list);
    }

    /// <summary>Bits by name; a bit that is wrong keeps its name.</summary>
    public IReadOnlyDictionary<string, BitReference> ReadNamed(IReadOnlyList<Member> members, IReadOnlyList<FieldDraft> fields, string list)
    {
        var bits = new Dictionary<string, BitReference>(StringComparer.Ordinal);
        foreach (var member in members)
        {
            Names.Check(member.NameOffset, member.Value.Path, member.Name, ".", errors);
            bits[member.Name] = Read(member.Value, fields, list, mayRise: false) ?? default;
        }

        return bits;
    }

    private BitReference? Check(Node node, BitReference bit, IReadOnlyList<FieldDraft> fields, string list)
    {
        if (FieldDraft.Find(fields, bit.Field) is not { } draft)
        {
            var known = fields.Select(field => field.Field.Name).ToArray();
            errors.Add(node, $"no {list} field {Show.Quoted(bit.Field)}{Nearest.Hint(bit.Field, known)}");
            return null;
        }

        var highest = (draft.Field.Width * 16) - 1;
        if (bit.Bit > highest)
        {
            errors.Add(node, $"bit {bit.Bit} is outside field {Show.Quoted(bit.Field)}, whose bits are 0 to {highest}");
            return null;
        }

        return bit;
    }
}

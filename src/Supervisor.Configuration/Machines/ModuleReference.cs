using System.Globalization;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>A bit of a module.</summary>
/// <param name="Module">Index into <see cref="MachineDefinition.Modules"/>.</param>
/// <param name="Bit">From 0.</param>
public sealed record ModuleReference(int Module, int Bit);

/// <summary>Reads which bit of a module is meant: <c>module:NAME/BIT</c>, the bit by its number or its name.</summary>
internal static class ModuleReferenceReader
{
    public const string Prefix = "module:";

    /// <summary>The input, or null with an error told.</summary>
    public static ModuleReference? ReadInput(Node node, string text, IReadOnlyList<ModuleDraft> modules, FileErrors errors) =>
        Read(node, text, modules, "input", module => module.Inputs is { } inputs ? (inputs.Bits, inputs.Names) : null, errors);

    /// <summary>The output, or null with an error told.</summary>
    public static ModuleReference? ReadOutput(Node node, string text, IReadOnlyList<ModuleDraft> modules, FileErrors errors) =>
        Read(node, text, modules, "output", module => module.Outputs is { } outputs ? (outputs.Bits, outputs.Names) : null, errors);

    private static ModuleReference? Read(
        Node node,
        string text,
        IReadOnlyList<ModuleDraft> modules,
        string kind,
        Func<ModuleDefinition, (int Bits, IReadOnlyDictionary<string, int> Names)?> bitsOf,
        FileErrors errors)
    {
        var place = text[Prefix.Length..];
        var slash = place.IndexOf('/', StringComparison.Ordinal);
        var (name, bit) = slash > 0 ? (place[..slash], place[(slash + 1)..]) : ("", "");
        if (bit.Length == 0)
        {
            errors.Add(node, $"{Show.Quoted(text)} is no bit of a module; module:NAME/BIT is expected, such as \"module:terminal/3\"");
            return null;
        }

        for (var index = 0; index < modules.Count; index++)
        {
            if (modules[index].Name == name)
            {
                return modules[index].Definition is { } module ? ReadBit(node, text, index, bitsOf(module), kind, bit, errors) : null;
            }
        }

        var known = modules.Select(module => module.Name).OfType<string>().ToArray();
        errors.Add(node, $"{Show.Quoted(text)}: no module {Show.Quoted(name)}{(known.Length == 0 ? "; the file has none" : Nearest.Hint(name, known))}");
        return null;
    }

    private static ModuleReference? ReadBit(
        Node node, string text, int module, (int Bits, IReadOnlyDictionary<string, int> Names)? has, string kind, string bit, FileErrors errors)
    {
        if (has is not var (bits, names))
        {
            errors.Add(node, $"{Show.Quoted(text)}: the module has no {kind}s");
            return null;
        }

        if (names.TryGetValue(bit, out var named))
        {
            return new ModuleReference(module, named);
        }

        if (!bit.All(char.IsAsciiDigit))
        {
            errors.Add(node, $"{Show.Quoted(text)}: no {kind} is named {Show.Quoted(bit)}{(names.Count == 0 ? "; none has a name" : Nearest.Hint(bit, [.. names.Keys]))}");
            return null;
        }

        if (bits > 0 && (!int.TryParse(bit, NumberStyles.None, CultureInfo.InvariantCulture, out named) || named >= bits))
        {
            errors.Add(node, $"{Show.Quoted(text)}: the module's {kind}s are 0 to {bits - 1}");
            return null;
        }

        return new ModuleReference(module, named);
    }
}

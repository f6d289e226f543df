using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads where a digital input is: <c>AXIS.NAME</c>, <c>file:PATH</c>, <c>gpio:CHIP-LABEL/LINE</c> or <c>module:NAME/BIT</c>.</summary>
internal sealed class InputReader(LoadedFile file, IReadOnlyList<AxisDraft> axes, IReadOnlyList<ModuleDraft> modules)
{
    /// <summary>The inputs there are, for messages.</summary>
    public const string Shapes = "AXIS.NAME, file:PATH, gpio:CHIP-LABEL/LINE or module:NAME/BIT";

    private const string FilePrefix = "file:";

    /// <summary>The input, or null with an error told.</summary>
    public InputReference? Read(Node? node)
    {
        if (node is null || Values.Text(node, file.Errors) is not { } text)
        {
            return null;
        }

        if (text.StartsWith(FilePrefix, StringComparison.Ordinal))
        {
            return ReadFile(node, text);
        }

        if (GpioPlace.Is(text))
        {
            return ReadGpio(node, text);
        }

        if (text.StartsWith(ModuleReferenceReader.Prefix, StringComparison.Ordinal))
        {
            return ModuleReferenceReader.ReadInput(node, text, modules, file.Errors) is { } module
                ? new InputReference(text, InputSource.Module, -1, null, null) { Module = module }
                : null;
        }

        return ReadDrive(node, text);
    }

    private InputReference? ReadFile(Node node, string text)
    {
        var path = text[FilePrefix.Length..];
        if (path.Length == 0)
        {
            file.Errors.Add(node, "\"file:\" names no file; file:PATH is expected");
            return null;
        }

        return new InputReference(text, InputSource.File, -1, null, Path.GetFullPath(file.Beside(path)));
    }

    private InputReference? ReadGpio(Node node, string text) => GpioPlace.Read(node, text, file.Errors) is { } line
        ? new InputReference(text, InputSource.Gpio, -1, null, null) { Gpio = line }
        : null;

    private InputReference? ReadDrive(Node node, string text)
    {
        var dot = text.IndexOf('.', StringComparison.Ordinal);
        if (dot <= 0 || dot == text.Length - 1)
        {
            file.Errors.Add(node, $"{Show.Quoted(text)} is no input; {Shapes} is expected");
            return null;
        }

        var (axis, name) = (text[..dot], text[(dot + 1)..]);
        var index = IndexOf(axis);
        if (index < 0)
        {
            var known = axes.Select(draft => draft.Name).OfType<string>().ToArray();
            file.Errors.Add(node, $"{Show.Quoted(text)}: no axis {Show.Quoted(axis)}{Nearest.Hint(axis, known)}");
            return null;
        }

        return axes[index].Definition?.Drive is { } drive ? ReadBit(node, text, index, drive, name) : null;
    }

    private InputReference? ReadBit(Node node, string text, int axis, DriveDefinition drive, string name)
    {
        if (drive.Inputs.TryGetValue(name, out var bit))
        {
            return new InputReference(text, InputSource.Drive, axis, bit, null);
        }

        var hint = drive.Inputs.Count == 0 ? "; it declares none" : Nearest.Hint(name, [.. drive.Inputs.Keys]);
        file.Errors.Add(node, $"{Show.Quoted(text)}: drive {Show.Quoted(drive.Name)} has no input {Show.Quoted(name)}{hint}");
        return null;
    }

    private int IndexOf(string axis)
    {
        for (var i = 0; i < axes.Count; i++)
        {
            if (axes[i].Name == axis)
            {
                return i;
            }
        }

        return -1;
    }
}

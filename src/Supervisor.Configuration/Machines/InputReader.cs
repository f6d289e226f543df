using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads where a digital input is: <c>AXIS.NAME</c>, <c>file:PATH</c> or <c>gpio:CHIP-LABEL/LINE</c>.</summary>
internal sealed class InputReader(LoadedFile file, IReadOnlyList<AxisDraft> axes)
{
    private const string FilePrefix = "file:";
    private const string GpioPrefix = "gpio:";

    /// <summary>Highest line number of a GPIO chip that is believed.</summary>
    private const int HighestGpioLine = 1023;

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

        if (text.StartsWith(GpioPrefix, StringComparison.Ordinal))
        {
            RefuseGpio(node, text);
            return null;
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

    private void RefuseGpio(Node node, string text)
    {
        var place = text[GpioPrefix.Length..];
        var slash = place.LastIndexOf('/');
        var isGood = slash > 0
            && int.TryParse(place.AsSpan(slash + 1), System.Globalization.NumberStyles.None, null, out var line)
            && line <= HighestGpioLine;
        file.Errors.Add(
            node,
            isGood
                ? $"{Show.Quoted(text)}: GPIO inputs are not supported yet by this version; wire the contact to an input of a drive"
                : $"{Show.Quoted(text)} is no GPIO line; gpio:CHIP-LABEL/LINE is expected, such as \"gpio:soc-gpio/17\"");
    }

    private InputReference? ReadDrive(Node node, string text)
    {
        var dot = text.IndexOf('.', StringComparison.Ordinal);
        if (dot <= 0 || dot == text.Length - 1)
        {
            file.Errors.Add(node, $"{Show.Quoted(text)} is no input; AXIS.NAME, file:PATH or gpio:CHIP-LABEL/LINE is expected");
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

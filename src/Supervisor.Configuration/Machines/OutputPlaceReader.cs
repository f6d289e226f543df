using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads where a digital output is: <c>AXIS.NAME</c>, <c>gpio:CHIP-LABEL/LINE</c> or <c>module:NAME/BIT</c>. A place has one use.</summary>
internal sealed class OutputPlaceReader(LoadedFile file, IReadOnlyList<AxisDraft> axes, IReadOnlyList<ModuleDraft> modules)
{
    /// <summary>The places there are, for messages.</summary>
    public const string Shapes = "AXIS.NAME, gpio:CHIP-LABEL/LINE or module:NAME/BIT";

    private readonly UsedOnce<string> places = new(file.Errors);

    /// <summary>The place that an output's object names, with the level that is on there; null with an error told.</summary>
    /// <param name="owner">The object with <c>output</c> and <c>activeLow</c>.</param>
    /// <param name="what">What the place is for, for messages.</param>
    public OutputReference? Read(ObjectReader owner, string what)
    {
        var place = Read(owner.Require("output", $"{what}: {Shapes}"));
        var activeLow = owner.Flag("activeLow", fallback: false);
        if (activeLow && place is { Source: not OutputSource.Gpio })
        {
            owner.Refuse("activeLow", $"is for GPIO lines, which {Show.Quoted(place.Text)} is not; take it out, and turn the level round in its device or its wiring");
        }

        return place is null ? null : place with { ActiveLow = activeLow };
    }

    /// <summary>The place, or null with an error told.</summary>
    private OutputReference? Read(Node? node)
    {
        if (node is null || Values.Text(node, file.Errors) is not { } text)
        {
            return null;
        }

        var place = GpioPlace.Is(text) ? ReadGpio(node, text)
            : text.StartsWith(ModuleReferenceReader.Prefix, StringComparison.Ordinal) ? ReadModule(node, text)
            : ReadDrive(node, text);
        if (place is not null)
        {
            // A bit of a module may be named by its number or its name.
            places.Note(place.Module is { } bit ? $"{bit.Module}/{bit.Bit}" : text, node, line => $"{Show.Quoted(text)} is already used in line {line}; an output does one thing");
        }

        return place;
    }

    private OutputReference? ReadGpio(Node node, string text) =>
        GpioPlace.Read(node, text, file.Errors) is { } line ? new OutputReference(text, OutputSource.Gpio, -1, -1) { Gpio = line } : null;

    private OutputReference? ReadModule(Node node, string text) =>
        ModuleReferenceReader.ReadOutput(node, text, modules, file.Errors) is { } bit ? new OutputReference(text, OutputSource.Module, -1, -1) { Module = bit } : null;

    private OutputReference? ReadDrive(Node node, string text)
    {
        var dot = text.IndexOf('.', StringComparison.Ordinal);
        if (dot <= 0 || dot == text.Length - 1)
        {
            file.Errors.Add(node, $"{Show.Quoted(text)} is no output; {Shapes} is expected");
            return null;
        }

        var (axis, name) = (text[..dot], text[(dot + 1)..]);
        var index = axes.ToList().FindIndex(draft => draft.Name == axis);
        if (index < 0)
        {
            var known = axes.Select(draft => draft.Name).OfType<string>().ToArray();
            file.Errors.Add(node, $"{Show.Quoted(text)}: no axis {Show.Quoted(axis)}{Nearest.Hint(axis, known)}");
            return null;
        }

        return axes[index].Definition?.Drive is { } drive ? ReadName(node, text, index, drive, name) : null;
    }

    private OutputReference? ReadName(Node node, string text, int axis, DriveDefinition drive, string name)
    {
        var names = drive.Outputs.Keys.ToList();
        if (names.IndexOf(name) is >= 0 and var output)
        {
            return new OutputReference(text, OutputSource.Drive, axis, output);
        }

        var hint = names.Count == 0 ? "; it declares none" : Nearest.Hint(name, names);
        file.Errors.Add(node, $"{Show.Quoted(text)}: drive {Show.Quoted(drive.Name)} has no output {Show.Quoted(name)}{hint}");
        return null;
    }
}

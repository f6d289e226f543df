using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads named outputs. What an output does at a stop, disabling, a fault and the loss of the daemon has no default: whoever writes the file decides it.</summary>
internal sealed class OutputReader(LoadedFile file, OutputPlaceReader places, IReadOnlyList<AxisDraft> axes, IReadOnlyList<ModuleDraft> modules, GroupList groups)
{
    private static readonly Choices<OutputState> States = new(("hold", OutputState.Hold), ("off", OutputState.Off), ("on", OutputState.On));

    private readonly UsedOnce<string> names = new(file.Errors);
    private readonly AxisListReader axisList = new(file.Errors, axes);

    /// <summary>The output; null when its value is no object.</summary>
    public OutputDefinition? Read(Node node)
    {
        if (ObjectReader.Open(node, MachineShapes.Output, file.Errors) is not { } output)
        {
            return null;
        }

        var name = Names.Read(output.Require("name", "name of the output"), ".", file.Errors);
        if (name is not null)
        {
            names.Note(name, output.Find("name")!, line => $"output {Show.Quoted(name)} appears twice; first in line {line}");
        }

        var place = places.Read(output, "where it is");
        var atLoss = new LossChecks(axes, modules).Read(output, place);
        var atStart = output.Choice("atStart", States, atLoss == OutputState.Hold ? OutputState.Hold : OutputState.Off) ?? OutputState.Off;
        CheckHold(output, place, atStart);
        CheckModuleHold(output, place, atStart);
        return new OutputDefinition(
            name ?? "",
            place ?? new OutputReference("", OutputSource.Drive, -1, -1),
            output.Find("axes") is { } list ? axisList.Read(list, whenEmpty: null) : AxesOf(place),
            output.Choice("atStop", States, "what it does while one of its axes is stopped: \"hold\", \"off\" or \"on\"") ?? default,
            output.Choice("atDisable", States, "what it does while one of its axes is disabled: \"hold\", \"off\" or \"on\"") ?? default,
            output.Choice("atFault", States, "what it does while one of its axes is faulted: \"hold\", \"off\" or \"on\"") ?? default,
            atStart,
            atLoss ?? default);
    }

    /// <summary>Left out: a drive's output follows its axis and that one's group, another all axes.</summary>
    private int[] AxesOf(OutputReference? place)
    {
        if (place is not { Source: OutputSource.Drive, Axis: var axis })
        {
            return axisList.Every;
        }

        return axes[axis].Definition?.Group is { } group ? [.. groups.ToDefinitions()[group].Axes] : [axis];
    }

    /// <summary>A drive's output is held over a start only where it is read back before anything is written to its registers.</summary>
    private void CheckHold(ObjectReader output, OutputReference? place, OutputState atStart)
    {
        if (atStart != OutputState.Hold || place is not { Source: OutputSource.Drive, Axis: var axis } || axes[axis].Definition?.Drive is not { } drive)
        {
            return;
        }

        var (name, bit) = drive.Outputs.ElementAt(place.Output);
        if (drive.CommandField(bit.Field) is { ReadBack: false })
        {
            output.Refuse(
                output.Find("atStart") is null ? "atLoss" : "atStart",
                $"\"hold\" needs the output to be read back at a start, but drive {Show.Quoted(drive.Name)} does not declare readBack for field {Show.Quoted(bit.Field)} of output {Show.Quoted(name)}; declare it if the drive can be read so, or give atStart \"off\"");
        }
        else if (SharesWithCommands(drive, bit.Field))
        {
            output.Refuse(
                output.Find("atStart") is null ? "atLoss" : "atStart",
                $"\"hold\" is not possible for a bit of {Show.Quoted(bit.Field)}: it also stops the axis, and a start begins with writing the stop; give atStart \"off\"");
        }
    }

    private static bool SharesWithCommands(Drives.DriveDefinition drive, string field) => drive.Commands is { } bits
        && new[] { bits.Power, bits.Go, bits.Stop, bits.FindReference, bits.ClearFault }.Any(bit => bit?.Field == field);

    /// <summary>A module's output likewise.</summary>
    private void CheckModuleHold(ObjectReader output, OutputReference? place, OutputState atStart)
    {
        if (place?.Module is not { } bit || modules[bit.Module].Definition is not { } module)
        {
            return;
        }

        if (atStart == OutputState.Hold && module.Outputs is { ReadBack: null })
        {
            output.Refuse(
                output.Find("atStart") is null ? "atLoss" : "atStart",
                $"\"hold\" needs the output to be read back at a start, but the outputs of module {Show.Quoted(module.Name)} have readBack \"none\"; give atStart \"off\"");
        }
    }
}

using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Whether what a file wants of an output at the loss of the daemon is what its drive or module is declared to do.</summary>
internal sealed class LossChecks(IReadOnlyList<AxisDraft> axes, IReadOnlyList<ModuleDraft> modules)
{
    private static readonly Choices<OutputState> States = new(("hold", OutputState.Hold), ("off", OutputState.Off), ("on", OutputState.On));

    /// <summary>Reads <c>atLoss</c>; null with an error told.</summary>
    public OutputState? Read(ObjectReader output, OutputReference? place)
    {
        var atLoss = output.Choice("atLoss", States, "what it must do when the daemon is lost: \"hold\", \"off\" or \"on\"");
        CheckDrive(output, place, atLoss);
        CheckModule(output, place, atLoss);
        return atLoss;
    }

    private void CheckDrive(ObjectReader output, OutputReference? place, OutputState? atLoss)
    {
        if (atLoss is not { } wanted || place is not { Source: OutputSource.Drive, Axis: var axis } || axes[axis].Definition?.Drive is not { } drive)
        {
            return;
        }

        var does = drive.CommunicationTimeout?.Outputs switch
        {
            Drives.OutputsAtTimeout.Hold => OutputState.Hold,
            Drives.OutputsAtTimeout.Off => OutputState.Off,
            _ => (OutputState?)null,
        };
        if (does is { } known && known != wanted)
        {
            output.Refuse(
                "atLoss",
                $"{Show.Quoted(States.WordOf(wanted))} contradicts drive {Show.Quoted(drive.Name)}, whose communicationTimeout.outputs is {Show.Quoted(States.WordOf(known))}; give what the drive does, or use another output");
        }
    }

    /// <summary>What a module does is stated by its own entry, and set and verified in it.</summary>
    private void CheckModule(ObjectReader output, OutputReference? place, OutputState? atLoss)
    {
        if (place?.Module is not { } bit || modules[bit.Module].Definition is not { } module)
        {
            return;
        }

        var does = module.AtLoss == ModuleReaction.Off ? OutputState.Off : OutputState.Hold;
        if (atLoss is { } wanted && wanted != does)
        {
            output.Refuse(
                "atLoss",
                $"{Show.Quoted(States.WordOf(wanted))} contradicts module {Show.Quoted(module.Name)}, which "
                + (module.CommunicationTimeout is null ? "keeps its outputs for ever: it has no communicationTimeout" : $"does {Show.Quoted(States.WordOf(does))} by its communicationTimeout.reaction"));
        }
    }
}

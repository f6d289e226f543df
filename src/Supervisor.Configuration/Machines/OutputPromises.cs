using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>What a machine file asks of its outputs at the loss of the daemon, and nothing in it can promise: to be measured at the machine.</summary>
public static class OutputPromises
{
    /// <summary>Warnings, one line each, with the member they are about in front.</summary>
    public static IReadOnlyList<string> Missing(MachineDefinition machine)
    {
        ArgumentNullException.ThrowIfNull(machine);
        var warnings = new List<string>();
        for (var i = 0; i < machine.Outputs.Count; i++)
        {
            var output = machine.Outputs[i];
            if (WhyUnknown(machine, output.Place) is { } why)
            {
                warnings.Add($"outputs[{i}].atLoss: {Show.Quoted(output.Name)} is to {Does(output.AtLoss)} when the daemon is lost, but {why}; measure it: kill the daemon and look");
            }
        }

        if (machine.PowerEnable is { } power)
        {
            AddPower(machine, power, warnings);
        }

        return warnings;
    }

    private static void AddPower(MachineDefinition machine, PowerEnableDefinition power, List<string> warnings)
    {
        if (WhyUnknown(machine, power.Output) is { } why)
        {
            warnings.Add($"powerEnable.output: the power should go off when the daemon is lost, but {why}; measure it, or let a monitoring relay on the alive output take the power");
        }

        if (power.Output.ActiveLow)
        {
            warnings.Add($"powerEnable.activeLow: {power.Output.Text} lets the contactor close at its low level, which many boards give a line while they are off or start, and a wire cut to ground always; measure it with the board off, starting and unplugged");
        }

        if (power.Output.Module is { } bit && machine.Modules[bit.Module].AtLoss == ModuleReaction.Hold)
        {
            warnings.Add($"powerEnable.output: module {Show.Quoted(machine.Modules[bit.Module].Name)} keeps its outputs when the daemon is lost, so the power stays on; give it a communicationTimeout with reaction \"off\"");
        }

        if (LineOf(machine, power.Output) is { } port && power.Axes.Any(axis => machine.Axes[axis].Port == port))
        {
            warnings.Add($"powerEnable.output: {power.Output.Text} is reached by port {machine.Ports[port].Name}, as are axes whose stop may fail because that line is cut; give it a GPIO line");
        }
    }

    /// <summary>Why it is not known what a place does when nobody commands it any more; null when it is.</summary>
    private static string? WhyUnknown(MachineDefinition machine, OutputReference place) => place.Source switch
    {
        OutputSource.Gpio => $"a GPIO line ({place.Text}) is then its chip driver's: most keep the level, some make it an input, whose level is what resistors make of it",
        OutputSource.Drive when machine.Axes[place.Axis].Drive.CommunicationTimeout is not { Outputs: not OutputsAtTimeout.Unknown } =>
            $"drive {Show.Quoted(machine.Axes[place.Axis].Drive.Name)} does not declare communicationTimeout.outputs",
        _ => null,
    };

    private static int? LineOf(MachineDefinition machine, OutputReference place) => place switch
    {
        { Source: OutputSource.Drive } => machine.Axes[place.Axis].Port,
        { Module: { } bit } => machine.Modules[bit.Module].Port,
        _ => null,
    };

    private static string Does(OutputState state) => state switch
    {
        OutputState.Off => "go off",
        OutputState.On => "go on",
        _ => "hold",
    };
}

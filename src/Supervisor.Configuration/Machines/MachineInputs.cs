namespace Supervisor.Configuration.Machines;

/// <summary>Every input that a machine file names.</summary>
public static class MachineInputs
{
    /// <summary>The inputs in the file's order; one that is named twice comes twice.</summary>
    public static IEnumerable<InputReference> AllInputs(this MachineDefinition machine)
    {
        ArgumentNullException.ThrowIfNull(machine);
        return machine.Interlocks.SelectMany(each => each.ResetInput is { } reset ? each.Inputs.Append(reset) : each.Inputs)
            .Concat(machine.Axes.SelectMany(axis => axis?.Homing?.ClearOf ?? []).Select(condition => condition.Input).OfType<InputReference>())
            .Concat(machine.Axes.Select(axis => axis?.EnablingInput).OfType<InputReference>())
            .Concat(machine.PowerEnable is { } power ? [power.Feedback] : [])
            .Concat(machine.Alarms.Select(alarm => alarm.Input?.Input).OfType<InputReference>())
            .Concat(machine.Counters.Select(counter => counter.Input?.Input).OfType<InputReference>())
            .Concat(machine.Signals.Horn is { SilenceInput: { } silence } ? [silence] : []);
    }
}

namespace Supervisor.Configuration.Machines;

/// <summary>What a machine file uses its inputs and outputs for, in words.</summary>
public static class MachineUses
{
    /// <summary>Uses of an input, such as "interlock front guard" or "reset of front guard".</summary>
    public static IEnumerable<string> UsesOf(this MachineDefinition machine, InputReference input)
    {
        ArgumentNullException.ThrowIfNull(machine);
        ArgumentNullException.ThrowIfNull(input);
        foreach (var interlock in machine.Interlocks)
        {
            if (interlock.Inputs.Any(each => each.Text == input.Text))
            {
                yield return $"interlock {interlock.Name}";
            }

            if (interlock.ResetInput?.Text == input.Text)
            {
                yield return $"reset of {interlock.Name}";
            }
        }

        foreach (var axis in machine.Axes)
        {
            if (axis.EnablingInput?.Text == input.Text)
            {
                yield return $"enables jogging {axis.Name}";
            }

            if (axis.Homing?.ClearOf.Any(condition => condition.Input?.Text == input.Text) == true)
            {
                yield return $"homing of {axis.Name}";
            }
        }

        if (machine.PowerEnable?.Feedback.Text == input.Text)
        {
            yield return "contactor feedback";
        }

        foreach (var alarm in machine.Alarms.Where(alarm => alarm.Input?.Input.Text == input.Text))
        {
            yield return $"alarm {alarm.Number} {alarm.Name}";
        }

        foreach (var counter in machine.Counters.Where(counter => counter.Input?.Input.Text == input.Text))
        {
            yield return $"counter {counter.Name}";
        }

        if (machine.Signals.Horn?.SilenceInput?.Text == input.Text)
        {
            yield return "silences the horn";
        }
    }

    /// <summary>Every output that the file names, each with what it is: the named ones, power-enable, alive, lights, horn, as far as there are such.</summary>
    public static IEnumerable<(string Name, OutputReference Place)> AllOutputs(this MachineDefinition machine)
    {
        ArgumentNullException.ThrowIfNull(machine);
        foreach (var named in machine.Outputs)
        {
            yield return (named.Name, named.Place);
        }

        if (machine.PowerEnable is { } power)
        {
            yield return ("power-enable", power.Output);
        }

        if (machine.Alive is { } alive)
        {
            yield return ("alive", alive.Output);
        }

        foreach (var light in machine.Signals.Lights)
        {
            yield return ($"light {light.Name}", light.Output);
        }

        if (machine.Signals.Horn is { } horn)
        {
            yield return ("horn", horn.Output);
        }
    }
}

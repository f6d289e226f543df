using Supervisor.Configuration.Alarms;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Finds things of a machine by name.</summary>
public static class MachineLookup
{
    /// <summary>Index of the axis, or -1.</summary>
    public static int AxisIndex(this MachineDefinition machine, string name) => IndexOf(machine.Axes, name, axis => axis.Name);

    /// <summary>Index of the port, or -1.</summary>
    public static int PortIndex(this MachineDefinition machine, string name) => IndexOf(machine.Ports, name, port => port.Name);

    /// <summary>Index of the interlock, or -1.</summary>
    public static int InterlockIndex(this MachineDefinition machine, string name) => IndexOf(machine.Interlocks, name, interlock => interlock.Name);

    /// <summary>Index of the named output that has this name or this place, or -1.</summary>
    public static int OutputIndex(this MachineDefinition machine, string nameOrPlace)
    {
        ArgumentNullException.ThrowIfNull(machine);
        var named = IndexOf(machine.Outputs, nameOrPlace, output => output.Name);
        return named >= 0 ? named : IndexOf(machine.Outputs, nameOrPlace, output => output.Place.Text);
    }

    /// <summary>A sentence for a name that is no axis, with the nearest name or all names.</summary>
    public static string DescribeUnknownAxis(this MachineDefinition machine, string name)
    {
        ArgumentNullException.ThrowIfNull(machine);
        return $"no axis {Show.Quoted(name)}{Nearest.Hint(name, [.. machine.Axes.Select(axis => axis.Name)])}";
    }

    /// <summary>The signal light at a place, such as "light trouble", or "horn"; null where there is none.</summary>
    public static string? SignalAt(this MachineDefinition machine, string place)
    {
        ArgumentNullException.ThrowIfNull(machine);
        return IndexOf(machine.Signals.Lights, place, light => light.Output.Text) is var light and >= 0 ? $"light {machine.Signals.Lights[light].Name}"
            : machine.Signals.Horn?.Output.Text == place ? "horn"
            : null;
    }

    /// <summary>Index of the counter, or -1.</summary>
    public static int CounterIndex(this MachineDefinition machine, string name)
    {
        ArgumentNullException.ThrowIfNull(machine);
        return IndexOf(machine.Counters, name, counter => counter.Name);
    }

    /// <summary>A sentence for a name that is no counter, with the nearest name or all names.</summary>
    public static string DescribeUnknownCounter(this MachineDefinition machine, string name)
    {
        ArgumentNullException.ThrowIfNull(machine);
        return machine.Counters.Count == 0
            ? $"no counter {Show.Quoted(name)}; the machine file has none"
            : $"no counter {Show.Quoted(name)}{Nearest.Hint(name, [.. machine.Counters.Select(counter => counter.Name)])}";
    }

    /// <summary>The builder's own alarm of a number, or null.</summary>
    public static OwnAlarmDefinition? OwnAlarm(this MachineDefinition machine, int number)
    {
        ArgumentNullException.ThrowIfNull(machine);
        foreach (var alarm in machine.Alarms)
        {
            if (alarm.Number == number)
            {
                return alarm;
            }
        }

        return null;
    }

    private static int IndexOf<T>(IReadOnlyList<T> all, string name, Func<T, string> nameOf)
    {
        for (var i = 0; i < all.Count; i++)
        {
            if (nameOf(all[i]) == name)
            {
                return i;
            }
        }

        return -1;
    }
}

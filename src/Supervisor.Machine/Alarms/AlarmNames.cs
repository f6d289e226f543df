using Supervisor.Configuration.Machines;
using Supervisor.Records.Alarms;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Alarms;

/// <summary>Alarms and what they are about by name, as people and the machine file say them.</summary>
public sealed class AlarmNames
{
    private readonly Dictionary<AlarmSourceKind, string[]> _names;
    private readonly Dictionary<int, string> _own;

    /// <param name="machine">The machine.</param>
    public AlarmNames(MachineDefinition machine)
    {
        ArgumentNullException.ThrowIfNull(machine);
        string[] outputs =
        [
            .. machine.Outputs.Select(output => output.Name),
            .. machine.PowerEnable is not null ? ["power-enable"] : Array.Empty<string>(),
            .. machine.Alive is not null ? ["alive"] : Array.Empty<string>(),
            .. machine.Signals.Lights.Select(light => $"light {light.Name}"),
            .. machine.Signals.Horn is not null ? ["horn"] : Array.Empty<string>(),
        ];
        _own = machine.Alarms.ToDictionary(alarm => alarm.Number, alarm => alarm.Name);
        _names = new Dictionary<AlarmSourceKind, string[]>
        {
            [AlarmSourceKind.Machine] = [],
            [AlarmSourceKind.Axis] = [.. machine.Axes.Select(axis => axis.Name)],
            [AlarmSourceKind.Port] = [.. machine.Ports.Select(port => port.Name)],
            [AlarmSourceKind.Module] = [.. machine.Modules.Select(module => module.Name)],
            [AlarmSourceKind.Output] = outputs,
            [AlarmSourceKind.Interlock] = [.. machine.Interlocks.Select(interlock => interlock.Name)],
        };
    }

    /// <summary>Name of a source; empty for the machine, and for one that it does not have.</summary>
    public string Of(AlarmSource source) =>
        _names.TryGetValue(source.Kind, out var names) && source.Index >= 0 && source.Index < names.Length ? names[source.Index] : "";

    /// <summary>The source of a kind and a name; null where the machine has none.</summary>
    public AlarmSource? Find(AlarmSourceKind kind, string name)
    {
        if (kind == AlarmSourceKind.Machine)
        {
            return AlarmSource.Machine;
        }

        return _names.TryGetValue(kind, out var names) && Array.IndexOf(names, name) is var index and >= 0 ? new AlarmSource(kind, (short)index) : null;
    }

    /// <summary>Every source of a name, of whatever kind.</summary>
    public IEnumerable<AlarmSource> Find(string name) =>
        _names.Keys.Where(kind => kind != AlarmSourceKind.Machine).Select(kind => Find(kind, name)).OfType<AlarmSource>();

    /// <summary>An alarm for a sentence, such as "link lost of dibber".</summary>
    public string Describe(AlarmKey key)
    {
        var what = key.IsOwn ? $"alarm {key.Number}{(_own.TryGetValue(key.Number, out var own) ? $" ({own})" : "")}" : FaultCatalogue.Entry((FaultCode)key.Number).Name;
        var source = Of(key.Source);
        return source.Length > 0 ? $"{what} of {source}" : what;
    }
}

using Supervisor.Configuration.Alarms;
using Supervisor.Configuration.Budget;
using Supervisor.Configuration.Languages;
using Supervisor.Configuration.Machines.Messages;
using Supervisor.Configuration.Reading;
using Supervisor.Configuration.Signals;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads a machine file from its root.</summary>
internal sealed class MachineReader(LoadedFile file, DriveDefinitions drives)
{
    /// <summary>Most axes of a machine.</summary>
    public const int MostAxes = 64;

    /// <summary>Most interlocks: each is a counter that every port looks at before every transaction.</summary>
    public const int MostInterlocks = 40;

    /// <summary>Most modules.</summary>
    public const int MostModules = 32;

    /// <summary>Most named outputs.</summary>
    public const int MostOutputs = 256;

    /// <summary>Most groups.</summary>
    public const int MostGroups = 20;

    /// <summary>Most zones: each is a bit of what a command is excused from.</summary>
    public const int MostZones = 64;

    /// <summary>The machine; complete only when no error was told. Null when the root is no object.</summary>
    public MachineDefinition? Read(Node root)
    {
        if (ObjectReader.Open(root, MachineShapes.File, file.Errors) is not { } reader)
        {
            return null;
        }

        reader.Text("$schema");
        var name = reader.Object("machine", MachineShapes.Machine, "an object with the machine's name")?.Text("name", "name of the machine");
        var ports = ReadPorts(reader);
        var groups = new GroupList(file.Errors);
        var axes = ReadAxes(reader, ports, groups);
        var modules = ReadModules(reader, ports, axes);
        if (reader.Find("axes") is { Kind: NodeKind.Array } nodes)
        {
            new ClearOfReader(file, axes, modules).Read(nodes.Items);
        }

        ReadEnablingInputs(axes, modules);
        var age = new InputAge(ports, axes, modules);
        var interlocks = ReadInterlocks(reader, age, axes, modules);
        var places = new OutputPlaceReader(file, axes, modules);
        var outputs = ReadOutputs(reader, places, axes, modules, groups);
        var power = new PowerEnableReader(file, places, ports, axes, modules);
        var zones = ReadZones(reader, axes);
        var (powerEnable, alive, authority) = (power.ReadPower(reader), power.ReadAlive(reader), AuthorityReader.Read(reader));
        new BudgetChecks(file.Errors, ports, axes, modules, interlocks).Check(Nodes(reader, "ports"), Nodes(reader, "axes"), Nodes(reader, "interlocks"));
        var history = HistorySectionReader.Read(reader, ports, axes);
        var texts = new LanguagesReader(file.Errors);
        texts.Read(reader);
        var inputs = new InputReader(file, axes, modules);
        var counters = ReadList(reader, "counters", CounterReader.Most, new CounterReader(file.Errors, inputs, age).Read);
        var alarms = ReadList(reader, "alarms", AlarmReader.Most, new AlarmReader(file.Errors, texts, inputs, age, counters).Read);
        var signals = new SignalsReader(file.Errors, texts, places, inputs, age, new LossChecks(axes, modules), modules).Read(reader);
        var machine = new MachineDefinition(
            name ?? "",
            [.. ports.Select(port => port.Definition)],
            [.. axes.Select(axis => axis.Definition!)],
            interlocks,
            groups.ToDefinitions())
        {
            Modules = [.. modules.Select(module => module.Definition!)],
            Authority = authority,
            Outputs = outputs,
            PowerEnable = powerEnable,
            Alive = alive,
            Zones = zones,
            History = history,
            Languages = texts.Languages,
            Counters = counters,
            Alarms = alarms,
            Signals = signals,
            OutOfService = OutOfServiceReader.Read(reader),
            Messages = new MessagesReader(file).Read(reader),
        };
        new GpioUse(file.Errors).Check(reader, machine);
        return machine;
    }

    private List<OutputDefinition> ReadOutputs(ObjectReader reader, OutputPlaceReader places, List<AxisDraft> axes, List<ModuleDraft> modules, GroupList groups)
    {
        var outputs = new List<OutputDefinition>();
        var outputReader = new OutputReader(file, places, axes, modules, groups);
        foreach (var node in reader.Items("outputs"))
        {
            if (outputReader.Read(node) is { } output)
            {
                outputs.Add(output);
            }
        }

        RefuseMore(reader, "outputs", MostOutputs);
        return outputs;
    }

    private List<PortDraft> ReadPorts(ObjectReader reader)
    {
        var ports = new List<PortDraft>();
        var portReader = new PortReader(file);
        foreach (var node in reader.Items("ports", "the serial ports, at least one"))
        {
            ports.Add(portReader.Read(node));
        }

        RefuseEmpty(reader, "ports", "port");
        return ports;
    }

    private List<AxisDraft> ReadAxes(ObjectReader reader, List<PortDraft> ports, GroupList groups)
    {
        var axes = new List<AxisDraft>();
        var axisReader = new AxisReader(file.Errors, drives, ports, groups);
        foreach (var node in reader.Items("axes", "the axes, at least one"))
        {
            axes.Add(axisReader.Read(node, axes.Count));
        }

        RefuseEmpty(reader, "axes", "axis");
        RefuseMore(reader, "axes", MostAxes);
        return axes;
    }

    private List<ModuleDraft> ReadModules(ObjectReader reader, List<PortDraft> ports, List<AxisDraft> axes)
    {
        var modules = new List<ModuleDraft>();
        var moduleReader = new ModuleReader(file.Errors, ports, axes);
        foreach (var node in reader.Items("modules"))
        {
            modules.Add(moduleReader.Read(node));
        }

        RefuseMore(reader, "modules", MostModules);
        return modules;
    }

    private void ReadEnablingInputs(List<AxisDraft> axes, List<ModuleDraft> modules)
    {
        var inputs = new InputReader(file, axes, modules);
        for (var i = 0; i < axes.Count; i++)
        {
            if (axes[i] is { Definition: { } axis, EnablingInput: { } node } && inputs.Read(node) is { } input)
            {
                axes[i] = axes[i] with { Definition = axis with { EnablingInput = input } };
            }
        }
    }

    private List<InterlockDefinition> ReadInterlocks(ObjectReader reader, InputAge age, List<AxisDraft> axes, List<ModuleDraft> modules)
    {
        var interlocks = new List<InterlockDefinition>();
        var interlockReader = new InterlockReader(file, age, axes, modules);
        foreach (var node in reader.Items("interlocks"))
        {
            if (interlockReader.Read(node) is { } interlock)
            {
                interlocks.Add(interlock);
            }
        }

        RefuseMore(reader, "interlocks", MostInterlocks);
        return interlocks;
    }

    private List<ZoneDefinition> ReadZones(ObjectReader reader, List<AxisDraft> axes)
    {
        var zones = new List<ZoneDefinition>();
        var zoneReader = new ZoneReader(file.Errors, axes);
        foreach (var node in reader.Items("zones"))
        {
            if (zoneReader.Read(node) is { } zone)
            {
                zones.Add(zone);
            }
        }

        RefuseMore(reader, "zones", MostZones);
        return zones;
    }

    private List<T> ReadList<T>(ObjectReader reader, string member, int most, Func<Node, T?> read)
        where T : class
    {
        List<T> all = [.. reader.Items(member).Select(read).OfType<T>()];
        RefuseMore(reader, member, most);
        return all;
    }

    private static List<Node> Nodes(ObjectReader reader, string member) => reader.Find(member) is { Kind: NodeKind.Array } list ? [.. list.Items] : [];

    private void RefuseEmpty(ObjectReader reader, string member, string one)
    {
        if (reader.Find(member) is { Kind: NodeKind.Array, Items.Count: 0 } node)
        {
            file.Errors.Add(node, $"is empty; a machine has at least one {one}");
        }
    }

    private void RefuseMore(ObjectReader reader, string member, int most)
    {
        if (reader.Find(member) is { Kind: NodeKind.Array } node && node.Items.Count > most)
        {
            file.Errors.Add(node.Items[most], $"is number {most + 1} of {node.Items.Count}; at most {most} {member} are allowed");
        }
    }
}

using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>A port as far as it could be read. <see cref="CycleMs"/> is NaN when the file's value is wrong.</summary>
internal sealed record PortDraft(string? Name, double CycleMs, PortDefinition Definition);

/// <summary>An axis as far as it could be read; <see cref="Definition"/> is null when its value is no object. Its enabling input is read once all axes are known.</summary>
internal sealed record AxisDraft(string? Name, AxisDefinition? Definition, Node? EnablingInput = null);

/// <summary>A module as far as it could be read; <see cref="Definition"/> is null when its value is no object.</summary>
internal sealed record ModuleDraft(string? Name, ModuleDefinition? Definition);

/// <summary>The groups, made from the axes that name them.</summary>
internal sealed class GroupList(FileErrors errors)
{
    private readonly List<(string Name, List<int> Axes)> groups = [];

    /// <summary>Puts an axis into a group and returns the group's index.</summary>
    public int Add(string name, int axis, Node at)
    {
        var index = groups.FindIndex(group => group.Name == name);
        if (index < 0)
        {
            index = groups.Count;
            groups.Add((name, []));
            if (index == MachineReader.MostGroups)
            {
                errors.Add(at, $"{Show.Quoted(name)} is group number {index + 1}; at most {MachineReader.MostGroups} groups are allowed");
            }
        }

        groups[index].Axes.Add(axis);
        return index;
    }

    public IReadOnlyList<GroupDefinition> ToDefinitions() => [.. groups.Select(group => new GroupDefinition(group.Name, group.Axes))];
}

using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads what must stay clear while an axis is homed. It names other axes, so it is read once all of them are known.</summary>
internal sealed class ClearOfReader(LoadedFile file, List<AxisDraft> axes, IReadOnlyList<ModuleDraft> modules)
{
    private const int MostConditions = 16;

    private readonly InputReader inputs = new(file, axes, modules);

    /// <summary>Puts the conditions of every axis into its draft.</summary>
    public void Read(IReadOnlyList<Node> nodes)
    {
        for (var axis = 0; axis < axes.Count; axis++)
        {
            if (axes[axis].Definition is { Homing: { } homing } definition && nodes[axis].Find("homing")?.Find("clearOf") is { } list)
            {
                axes[axis] = axes[axis] with { Definition = definition with { Homing = homing with { ClearOf = Conditions(axis, list) } } };
            }
        }
    }

    private List<ClearCondition> Conditions(int axis, Node list)
    {
        var conditions = new List<ClearCondition>();
        var items = Values.Items(list, file.Errors);
        if (items.Count > MostConditions)
        {
            file.Errors.Add(items[MostConditions], $"is number {MostConditions + 1} of {items.Count}; at most {MostConditions} conditions are allowed");
        }

        foreach (var node in items)
        {
            if (ObjectReader.Open(node, MachineShapes.ClearOf, file.Errors) is { } entry && Condition(axis, entry) is { } condition)
            {
                conditions.Add(condition);
            }
        }

        return conditions;
    }

    private ClearCondition? Condition(int axis, ObjectReader entry)
    {
        var (input, other) = (entry.Find("input"), entry.Find("axis"));
        if ((input is null) == (other is null))
        {
            file.Errors.Add(entry.Node, "names what must be clear: either an axis and between which positions it must stand, or an input");
            return null;
        }

        if (input is not null)
        {
            if (entry.Find("between") is not null)
            {
                entry.Refuse("between", "an input has no positions; take it out");
            }

            return inputs.Read(input) is { } reference ? new ClearCondition(-1, 0, 0, reference) : null;
        }

        var index = OtherAxis(axis, entry);
        var (lower, upper) = entry.Require("between", "[lower, upper]: where the other axis must stand") is { } between
            ? entry.Pair(between, NumberRange.Any(index >= 0 ? axes[index].Definition?.Unit ?? "" : ""))
            : (double.NaN, double.NaN);
        if (lower > upper)
        {
            entry.Refuse("between", $"lower position {Show.Number(lower)} is above upper position {Show.Number(upper)}");
        }

        return new ClearCondition(index, lower, upper, null);
    }

    private int OtherAxis(int axis, ObjectReader entry)
    {
        if (entry.Text("axis", "name of the other axis") is not { } name)
        {
            return -1;
        }

        var index = axes.FindIndex(draft => draft.Name == name);
        if (index < 0)
        {
            entry.Refuse("axis", $"no axis {Show.Quoted(name)}{Nearest.Hint(name, [.. axes.Select(draft => draft.Name).OfType<string>()])}");
        }
        else if (index == axis)
        {
            entry.Refuse("axis", "an axis can't be clear of itself; name another one");
        }
        else if (axes[index].Definition is { Reference: ReferenceKind.None })
        {
            entry.Refuse("axis", $"{Show.Quoted(name)} has \"reference\": \"none\": where it stands is never proven; use an input");
        }

        return index;
    }
}

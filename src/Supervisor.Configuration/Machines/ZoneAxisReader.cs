using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads one axis of a zone and its range.</summary>
internal sealed class ZoneAxisReader(FileErrors errors, IReadOnlyList<AxisDraft> axes)
{
    /// <summary>Index of the axis in member <c>axis</c>; -1 with an error told.</summary>
    public int Axis(ObjectReader entry) => entry.Require("axis", "name of the axis") is { } node ? Axis(node) : -1;

    /// <summary>Index of the axis a value names; -1 with an error told.</summary>
    public int Axis(Node node)
    {
        if (Values.Text(node, errors) is not { } name)
        {
            return -1;
        }

        for (var i = 0; i < axes.Count; i++)
        {
            if (axes[i].Name == name)
            {
                return i;
            }
        }

        errors.Add(node, $"no axis {Show.Quoted(name)}{Nearest.Hint(name, [.. axes.Select(draft => draft.Name).OfType<string>()])}");
        return -1;
    }

    /// <summary>An axis must be able to tell where it is; told at <paramref name="at"/> where it can't.</summary>
    public void RequirePlace(Node at, int axis)
    {
        if (axis >= 0 && axes[axis].Definition is { Reference: ReferenceKind.None })
        {
            errors.Add(at, $"{Show.Quoted(axes[axis].Name!)} has \"reference\": \"none\": where it is is never proven; give it a homing or an absolute encoder");
        }
    }

    /// <summary>Member <c>between</c>: lower and upper position of the axis, inside its limits; NaN with an error told.</summary>
    public ZoneRange Range(ObjectReader entry, int axis)
    {
        if (entry.Require("between", "[lower, upper]: the range of its positions") is not { } node)
        {
            return new ZoneRange(double.NaN, double.NaN);
        }

        var definition = axis < 0 ? null : axes[axis].Definition;
        var unit = definition?.Unit ?? "";
        var (lower, upper) = entry.Pair(node, NumberRange.Any(unit));
        RequirePlace(node, axis);
        if (lower >= upper)
        {
            errors.Add(node, $"lower position {Show.Number(lower)} is not below upper position {Show.Number(upper)} ({unit})");
        }
        else if (definition?.EndlessPeriod is { } period)
        {
            CheckTurn(node, lower, upper, period, unit);
        }
        else if (definition?.Limits is { } limits && (lower < limits.LowerPosition || upper > limits.UpperPosition))
        {
            errors.Add(node, $"{Show.Number(lower)} to {Show.Number(upper)} {unit} reaches beyond its limits of {Show.Number(limits.LowerPosition ?? double.NaN)} to {Show.Number(limits.UpperPosition ?? double.NaN)} {unit}");
        }

        return new ZoneRange(lower, upper);
    }

    private void CheckTurn(Node node, double lower, double upper, double period, string unit)
    {
        if (lower < -period || upper > period)
        {
            errors.Add(node, $"{Show.Number(lower)} to {Show.Number(upper)} {unit} lies outside of one turn; give it within -{Show.Number(period)} to {Show.Number(period)} {unit}");
        }
        else if (upper - lower >= period)
        {
            errors.Add(node, $"{Show.Number(lower)} to {Show.Number(upper)} {unit} is a whole turn of {Show.Number(period)} {unit}; narrow it");
        }
    }
}

using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Routines;

/// <summary>A value of a step and what it can become: from <paramref name="Least"/> to <paramref name="Most"/>, NaN where it could not be read.</summary>
internal readonly record struct RangedValue(RoutineValue Value, double Least, double Most)
{
    public static RangedValue Unknown => new(default, double.NaN, double.NaN);

    public static RangedValue Of(double number) => new(new RoutineValue(number, null), number, number);

    /// <summary>The value as messages show it: <c>30</c>, or <c>$depth (5 to 60)</c>.</summary>
    public string Text => Value.Parameter is null
        ? Show.Number(Value.Number)
        : $"${Value.Parameter} ({Show.Number(Least)} to {Show.Number(Most)})";
}

/// <summary>Reads values of steps: a number, or <c>$parameter</c>.</summary>
internal sealed class ValueReader(IReadOnlyList<RoutineParameter> parameters, FileErrors errors)
{
    public RangedValue Read(Node? node)
    {
        if (node is null)
        {
            return RangedValue.Unknown;
        }

        if (node.Kind == NodeKind.Text && node.Text.StartsWith('$'))
        {
            return ReadParameter(node, node.Text[1..]);
        }

        if (node.Kind != NodeKind.Number)
        {
            errors.WrongKind(node, "a number or \"$parameter\"");
            return RangedValue.Unknown;
        }

        var number = Values.Number(node, NumberRange.Any(""), errors);
        return double.IsNaN(number) ? RangedValue.Unknown : RangedValue.Of(number);
    }

    private RangedValue ReadParameter(Node node, string name)
    {
        foreach (var parameter in parameters)
        {
            if (parameter.Name == name)
            {
                return new RangedValue(new RoutineValue(0, name), parameter.Minimum, parameter.Maximum);
            }
        }

        var hint = parameters.Count == 0 ? "; the routine declares none" : Nearest.Hint(name, [.. parameters.Select(parameter => parameter.Name)]);
        errors.Add(node, $"no parameter {Show.Quoted(name)}{hint}");
        return RangedValue.Unknown;
    }
}

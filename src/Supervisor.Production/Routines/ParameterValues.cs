using System.Globalization;
using Supervisor.Configuration.Routines;

namespace Supervisor.Production.Routines;

/// <summary>The numbers one run uses for the routine's parameters.</summary>
public sealed class ParameterValues
{
    private readonly Dictionary<string, double> _values = [];
    private readonly List<string> _errors = [];

    private ParameterValues()
    {
    }

    /// <summary>What is wrong with the values asked for, one sentence each; empty when they may be used.</summary>
    public IReadOnlyList<string> Errors => _errors;

    /// <summary>Takes the values asked for, and the defaults of parameters that were not named.</summary>
    /// <param name="routine">The routine.</param>
    /// <param name="wanted">Values by parameter name, in the parameter's unit.</param>
    public static ParameterValues Resolve(RoutineDefinition routine, IReadOnlyDictionary<string, double> wanted)
    {
        ArgumentNullException.ThrowIfNull(routine);
        ArgumentNullException.ThrowIfNull(wanted);
        var result = new ParameterValues();
        foreach (var parameter in routine.Parameters)
        {
            result.Take(parameter, wanted.TryGetValue(parameter.Name, out var value) ? value : parameter.Default);
        }

        var known = routine.Parameters.Count == 0 ? "it has none" : $"it has {string.Join(", ", routine.Parameters.Select(parameter => parameter.Name))}";
        foreach (var name in wanted.Keys.Where(name => !result._values.ContainsKey(name)))
        {
            result._errors.Add($"routine \"{routine.Name}\" has no parameter \"{name}\"; {known}");
        }

        return result;
    }

    /// <summary>The number a step uses.</summary>
    internal double Of(RoutineValue value) => value.Parameter is null ? value.Number : _values[value.Parameter];

    private void Take(RoutineParameter parameter, double value)
    {
        _values[parameter.Name] = value;
        if (!(value >= parameter.Minimum && value <= parameter.Maximum))
        {
            var unit = parameter.Unit is null ? "" : $" {parameter.Unit}";
            _errors.Add(
                $"parameter {parameter.Name}: {Text(value)}{unit} is outside {Text(parameter.Minimum)} to {Text(parameter.Maximum)}{unit}; give a value inside");
        }
    }

    private static string Text(double value) => value.ToString("0.######", CultureInfo.InvariantCulture);
}

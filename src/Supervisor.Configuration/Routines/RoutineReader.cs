using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Routines;

/// <summary>Reads a routine file from its root.</summary>
internal sealed class RoutineReader(MachineDefinition machine, FileErrors errors)
{
    /// <summary>The routine; complete only when no error was told. Null when the root is no object.</summary>
    public RoutineDefinition? Read(Node root)
    {
        if (ObjectReader.Open(root, RoutineShapes.File, errors) is not { } file)
        {
            return null;
        }

        file.Text("$schema");
        var name = Names.Read(file.Require("name", "name of the routine"), "", errors);
        var parameters = ReadParameters(file);
        var steps = new StepReader(machine, parameters, errors).Read(file.Items("steps", "the steps, at least one"));
        if (file.Find("steps") is { Kind: NodeKind.Array, Items.Count: 0 } list)
        {
            errors.Add(list, "is empty; a routine has at least one step");
        }

        return new RoutineDefinition(name ?? "", parameters, steps);
    }

    private List<RoutineParameter> ReadParameters(ObjectReader file)
    {
        var parameters = new List<RoutineParameter>();
        foreach (var member in file.Entries("parameters"))
        {
            Names.Check(member.NameOffset, member.Value.Path, member.Name, ". $=", errors);
            var reader = ObjectReader.Open(member.Value, RoutineShapes.Parameter, errors);
            parameters.Add(reader is null
                ? new RoutineParameter(member.Name, double.NaN, double.NaN, double.NaN, null)
                : ReadParameter(member.Name, reader));
        }

        return parameters;
    }

    private static RoutineParameter ReadParameter(string name, ObjectReader reader)
    {
        var unit = reader.Text("unit");
        var range = NumberRange.Any(unit ?? "");
        var minimum = reader.Number("minimum", range, "the least value");
        var maximum = reader.Number("maximum", range, "the greatest value");
        var value = reader.Number("default", range, "the value when none is given");
        var inUnit = unit is null ? "" : $" ({unit})";
        if (minimum > maximum)
        {
            reader.Refuse("minimum", $"{Show.Number(minimum)} is above maximum {Show.Number(maximum)}{inUnit}");
        }
        else if (value < minimum || value > maximum)
        {
            reader.Refuse("default", $"{Show.Number(value)} is outside minimum {Show.Number(minimum)} to maximum {Show.Number(maximum)}{inUnit}");
        }

        return new RoutineParameter(name, value, minimum, maximum, unit);
    }
}

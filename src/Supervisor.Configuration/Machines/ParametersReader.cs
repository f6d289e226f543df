using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads the drive parameters that a machine file fixes: <c>NAME: VALUE</c>, or an object that also says what a difference leads to.</summary>
internal sealed class ParametersReader(ObjectReader axis, FileErrors errors)
{
    private const string Member = "parameters";

    // A decimal number and a binary step seldom divide without a rest.
    private const double StepTolerance = 1e-6;

    private static readonly Choices<DifferenceAction> Actions = new(
        ("write", DifferenceAction.Write), ("refuse", DifferenceAction.Refuse), ("warn", DifferenceAction.Warn));

    /// <summary>Parameters that another member of the axis sets, with that member.</summary>
    private static readonly Dictionary<string, string> SetElsewhere = new(StringComparer.Ordinal)
    {
        [FieldNames.CommunicationTimeout] = "communicationTimeoutMs",
        [FieldNames.HomingMethod] = "homing.method",
        [FieldNames.HomingSpeedFast] = "homing.fast",
        [FieldNames.HomingSpeedSlow] = "homing.slow",
        [FieldNames.HomingAcceleration] = "limits.acceleration",
        [FieldNames.HomeOffset] = "homing.offset",
    };

    /// <summary>The entries.</summary>
    /// <param name="drive">The axis's drive; null when its definition is missing or wrong: the names are then not checked.</param>
    public IReadOnlyList<FixedParameter> Read(DriveDefinition? drive)
    {
        var list = new List<FixedParameter>();
        foreach (var member in axis.Entries(Member))
        {
            var (value, unit, action) = ReadEntry(member.Value);
            if (SetElsewhere.TryGetValue(member.Name, out var setter))
            {
                errors.Add(member.NameOffset, member.Value.Path, $"is set by the axis's {setter}; take it out here");
            }
            else if (drive is not null && Field(member, drive) is { } field)
            {
                CheckUnit(unit, field);
                CheckAccess(member, field, action);
                CheckValue(member.Value.Find("value") ?? member.Value, field, value);
                list.Add(new FixedParameter(field, value, action));
            }
        }

        return list;
    }

    private (double Value, Node? Unit, DifferenceAction Action) ReadEntry(Node node)
    {
        if (node.Kind is not (NodeKind.Number or NodeKind.Object))
        {
            errors.WrongKind(node, "a number, or an object with \"value\"");
            return (double.NaN, null, default);
        }

        if (node.Kind == NodeKind.Number)
        {
            return (Values.Number(node, NumberRange.Any(""), errors), null, DifferenceAction.Write);
        }

        var entry = ObjectReader.Open(node, MachineShapes.Parameter, errors)!;
        var value = entry.Number("value", NumberRange.Any(""), "what the drive must have");
        var unit = entry.Text("unit") is null ? null : entry.Find("unit");
        return (value, unit, entry.Choice("onDifference", Actions, DifferenceAction.Write) ?? default);
    }

    private RegisterField? Field(Member member, DriveDefinition drive)
    {
        if (drive.Parameter(member.Name) is { } field)
        {
            return field;
        }

        var known = drive.Parameters
            .Where(parameter => parameter.Access != RegisterAccess.Read && !SetElsewhere.ContainsKey(parameter.Name)).Select(parameter => parameter.Name).ToArray();
        errors.Add(
            member.NameOffset, member.Value.Path, $"drive {Show.Quoted(drive.Name)} declares no parameter {Show.Quoted(member.Name)}{Nearest.Hint(member.Name, known)}");
        return null;
    }

    private void CheckUnit(Node? unit, RegisterField field)
    {
        if (unit is not null && unit.Text != field.Unit)
        {
            errors.Add(unit, field.Unit is null
                ? $"{Show.Quoted(unit.Text)}: the drive definition gives {Show.Quoted(field.Name)} no unit; take it out"
                : $"{Show.Quoted(unit.Text)}: the drive definition counts {Show.Quoted(field.Name)} in {Show.Quoted(field.Unit)}; convert the value");
        }
    }

    private void CheckAccess(Member member, RegisterField field, DifferenceAction action)
    {
        if (field.Access == RegisterAccess.Read)
        {
            errors.Add(member.NameOffset, member.Value.Path, $"{Show.Quoted(field.Name)} can only be read; take it out");
        }
        else if (field.Access == RegisterAccess.Write && action != DifferenceAction.Write)
        {
            errors.Add(
                member.Value.Find("onDifference") ?? member.Value,
                $"{Show.Quoted(field.Name)} can't be read, so a difference would never be seen; only \"write\" is possible: it is then written at every start");
        }
    }

    private void CheckValue(Node at, RegisterField field, double value)
    {
        if (double.IsNaN(value) || field.Scale == 0)
        {
            return;
        }

        var (least, most) = field.Range;
        var exact = value / field.Scale;
        var raw = Math.Round(exact);
        var unit = field.Unit is null ? "" : $" {field.Unit}";
        if (raw < least || raw > most)
        {
            var (one, other) = (least * field.Scale, most * field.Scale);
            errors.Add(
                at, $"{Show.Number(value)}{unit} is outside what {Show.Quoted(field.Name)} holds: {Show.Number(Math.Min(one, other))} to {Show.Number(Math.Max(one, other))}{unit}");
        }
        else if (Math.Abs(exact - raw) > StepTolerance * Math.Max(1, Math.Abs(exact)))
        {
            errors.Add(
                at, $"{Show.Number(value)}{unit} lies between two steps of {Show.Quoted(field.Name)}, which counts in {Show.Number(Math.Abs(field.Scale))}{unit}: the drive could never hold it");
        }
    }
}

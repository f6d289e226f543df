using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Drives;

/// <summary>Reads the number that a drive wants with the reset of one of its faults: <c>clear: { field, value }</c>.</summary>
internal sealed class FaultClearReader(IReadOnlyList<FieldDraft> command, IEnumerable<BitReference?> commandBits, FileErrors errors)
{
    /// <summary>Command fields that mean something by themselves: a number in one of them would be a command.</summary>
    private static readonly string[] Taken =
    [
        FieldNames.Controlword, FieldNames.Mode, FieldNames.TargetPosition, FieldNames.ProfileVelocity, FieldNames.ProfileAcceleration,
        FieldNames.ProfileDeceleration, FieldNames.AccelerationTime, FieldNames.DecelerationTime, FieldNames.TorqueLimit,
    ];

    private readonly string[] bitFields = [.. commandBits.Where(bit => bit is not null).Select(bit => bit!.Value.Field)];

    /// <summary>The write; null with an error told.</summary>
    public FaultClearWrite? Read(Node node)
    {
        if (ObjectReader.Open(node, DriveShapes.FaultClear, errors) is not { } clear)
        {
            return null;
        }

        var name = clear.Text("field", "the command field that takes the number");
        var draft = name is null ? null : FieldDraft.Find(command, name);
        if (name is not null && draft is null)
        {
            clear.Refuse("field", $"no command field {Show.Quoted(name)}{Nearest.Hint(name, [.. command.Select(known => known.Field.Name)])}");
        }
        else if (name is not null && (Taken.Contains(name) || bitFields.Contains(name)))
        {
            clear.Refuse("field", $"{Show.Quoted(name)} commands something else; name a field that only takes this number, which is 0 otherwise");
        }

        var range = draft?.Field.Range;
        var value = clear.Number("value", range is { } known ? new NumberRange(known.Least, known.Most, "") : NumberRange.Any(""), "the number the drive wants");
        if (!double.IsNaN(value) && Math.Floor(value) != value)
        {
            clear.Refuse("value", "must be a whole number");
        }
        else if (value == 0)
        {
            clear.Refuse("value", "must not be 0, which stands there otherwise; say \"reset\" where the drive wants no number");
        }

        return name is null || double.IsNaN(value) ? null : new FaultClearWrite(name, (long)value);
    }
}

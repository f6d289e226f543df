using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Drives;

/// <summary>Reads how a drive tells that its encoder's battery is empty: <c>FIELD.BIT</c>, or a number of its error code.</summary>
internal sealed class BatteryAlarmReader(BitReader bits, FileErrors errors)
{
    private const string Member = "batteryAlarm";

    /// <summary>The alarm, or null where the file has none or an error was told.</summary>
    public BatteryAlarmDefinition? Read(ObjectReader file, IReadOnlyList<FieldDraft> feedback)
    {
        if (file.Find(Member) is not { } node)
        {
            return null;
        }

        if (node.Kind == NodeKind.Text)
        {
            return bits.Read(node, feedback, "feedback", mayRise: false) is { } bit ? new BatteryAlarmDefinition(bit, 0) : null;
        }

        if (node.Kind != NodeKind.Number)
        {
            errors.WrongKind(node, "a bit of the feedback such as \"status.5\", or a number of the error code");
            return null;
        }

        var code = Values.Integer(node, new NumberRange(1, ushort.MaxValue, ""), errors);
        if (FieldDraft.Find(feedback, FieldNames.ErrorCode) is null)
        {
            errors.Add(node, $"a number is compared with the feedback field {Show.Quoted(FieldNames.ErrorCode)}, which this drive does not declare; name a bit");
        }

        return code is { } number ? new BatteryAlarmDefinition(null, (ushort)number) : null;
    }
}

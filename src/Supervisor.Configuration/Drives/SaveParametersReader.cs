using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Drives;

/// <summary>Reads what makes a drive keep its parameters. Left out: nothing has to be told to it, or it can't keep them.</summary>
internal sealed class SaveParametersReader(WireDefinition wire)
{
    private const string Member = "saveParameters";
    private const double LongestBusyMs = 60_000;

    /// <summary>The command and its register with its place in the file; null where the file has none.</summary>
    public (SaveParametersDefinition Definition, FieldDraft Draft)? Read(ObjectReader file)
    {
        if (file.Object(Member, DriveShapes.SaveParameters) is not { } save)
        {
            return null;
        }

        var type = save.Choice("type", FieldReader.Types, RegisterType.U16) ?? default;
        var width = type is RegisterType.U32 or RegisterType.S32 ? 2 : 1;
        var first = wire.FirstRegister;
        var register = save.Integer(
            "register", new NumberRange(first, first + FieldReader.RegistersOfADrive - width, "(from wire.firstRegister on)"), "the register the command is written to");
        var field = new RegisterField(Member, register ?? -1, type, 1, null, RegisterAccess.Write)
        {
            Kind = wire.FirstInputRegister is null ? null : RegisterKind.Holding,
        };
        var range = field.Range;
        var value = save.Number("value", new NumberRange(range.Least, range.Most, ""), "what is written to it");
        if (!double.IsNaN(value) && Math.Floor(value) != value)
        {
            save.Refuse("value", "must be a whole number");
        }

        if (width > wire.MaximumWrite)
        {
            save.Refuse("type", $"takes {width} registers, but wire.write.maxRegisters is {wire.MaximumWrite}: it could not be written in one piece");
        }

        var busy = save.Number("busyMs", new NumberRange(0, LongestBusyMs, Milliseconds.Unit), "how long the drive may be silent or busy while it saves");
        return (new SaveParametersDefinition(field, double.IsNaN(value) ? 0 : (long)value, Milliseconds.ToTime(busy)), new FieldDraft(field, save.Node));
    }
}

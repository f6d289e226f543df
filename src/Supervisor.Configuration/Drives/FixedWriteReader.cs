using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Drives;

/// <summary>Reads a write of one fixed value: <c>register</c>, <c>type</c>, <c>value</c>.</summary>
internal static class FixedWriteReader
{
    /// <summary>The register and the value; NaN for one told as wrong.</summary>
    /// <param name="write">The object.</param>
    /// <param name="name">Name that the register goes by in errors.</param>
    /// <param name="whatFor">What the register is, for the error of a missing one.</param>
    /// <param name="wire">How the drive is written.</param>
    public static (RegisterField Field, double Value) Read(ObjectReader write, string name, string whatFor, WireDefinition wire)
    {
        var type = write.Choice("type", FieldReader.Types, RegisterType.U16) ?? default;
        var width = type is RegisterType.U32 or RegisterType.S32 ? 2 : 1;
        var first = wire.FirstRegister;
        var register = write.Integer(
            "register", new NumberRange(first, first + FieldReader.RegistersOfADrive - width, "(from wire.firstRegister on)"), whatFor);
        var field = new RegisterField(name, register ?? -1, type, 1, null, RegisterAccess.Write)
        {
            Kind = wire.FirstInputRegister is null ? null : RegisterKind.Holding,
        };
        var range = field.Range;
        var value = write.Number("value", new NumberRange(range.Least, range.Most, ""), "what is written to it");
        if (!double.IsNaN(value) && Math.Floor(value) != value)
        {
            write.Refuse("value", "must be a whole number");
        }

        if (width > wire.MaximumWrite)
        {
            write.Refuse("type", $"takes {width} registers, but wire.write.maxRegisters is {wire.MaximumWrite}: it could not be written in one piece");
        }

        return (field, value);
    }
}

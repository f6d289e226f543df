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

        var (field, value) = FixedWriteReader.Read(save, Member, "the register the command is written to", wire);
        var busy = save.Number("busyMs", new NumberRange(0, LongestBusyMs, Milliseconds.Unit), "how long the drive may be silent or busy while it saves");
        return (new SaveParametersDefinition(field, double.IsNaN(value) ? 0 : (long)value, Milliseconds.ToTime(busy)), new FieldDraft(field, save.Node));
    }
}

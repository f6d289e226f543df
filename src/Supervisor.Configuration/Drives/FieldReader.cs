using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Drives;

/// <summary>Where a field is used; decides which accesses make sense.</summary>
internal enum FieldUse
{
    Feedback,
    Command,
    Parameter,
}

/// <summary>A field with its place in the file. <see cref="RegisterField.Register"/> is negative when the file's number is wrong.</summary>
internal sealed record FieldDraft(RegisterField Field, Node Node)
{
    public static FieldDraft? Find(IReadOnlyList<FieldDraft> drafts, string name) => drafts.FirstOrDefault(draft => draft.Field.Name == name);
}

/// <summary>Reads register fields.</summary>
internal sealed class FieldReader(WireDefinition wire, FileErrors errors)
{
    /// <summary>Characters with a meaning in <c>FIELD.BIT rising</c>.</summary>
    private const string Forbidden = ". $";

    public const int RegistersOfADrive = 65536;

    private readonly FieldValues values = new(errors);

    public static readonly Choices<RegisterType> Types = new(
        ("u16", RegisterType.U16), ("s16", RegisterType.S16), ("u32", RegisterType.U32), ("s32", RegisterType.S32));

    private static readonly Choices<RegisterKind> Kinds = new(("holding", RegisterKind.Holding), ("input", RegisterKind.Input));

    private static readonly Choices<RegisterAccess> Accesses = new(
        ("readWrite", RegisterAccess.ReadWrite), ("read", RegisterAccess.Read), ("write", RegisterAccess.Write));

    public IReadOnlyList<FieldDraft> Read(IReadOnlyList<Node> nodes, FieldUse use)
    {
        var once = new UsedOnce<string>(errors);
        var drafts = new List<FieldDraft>();
        foreach (var node in nodes)
        {
            if (ObjectReader.Open(node, DriveShapes.Field, errors) is not { } field)
            {
                continue;
            }

            var name = Names.Read(field.Require("name", "name of the field"), Forbidden, errors);
            if (name is not null)
            {
                once.Note(name, field.Find("name")!, line => $"field {Show.Quoted(name)} appears twice; first in line {line}");
            }

            drafts.Add(new FieldDraft(ReadField(field, name ?? "", use), node));
        }

        return drafts;
    }

    private RegisterField ReadField(ObjectReader field, string name, FieldUse use)
    {
        var type = field.Choice("type", Types, "\"u16\", \"s16\", \"u32\" or \"s32\"");
        var width = type is RegisterType.U32 or RegisterType.S32 ? 2 : 1;
        var access = ReadAccess(field, use);
        var kind = ReadKind(field, use, access);
        var isApart = wire.FirstInputRegister is not null && (kind == RegisterKind.Input || (kind is null && wire.ReadFunction == 4));
        var first = isApart ? wire.FirstInputRegister!.Value : wire.FirstRegister;
        var register = field.Integer(
            "register", new NumberRange(first, first + RegistersOfADrive - width, $"(from wire.{(isApart ? "firstInputRegister" : "firstRegister")} on)"), "its register number");
        var scale = field.Number("scale", NumberRange.Any(""), fallback: 1);
        if (scale == 0)
        {
            field.Refuse("scale", "0 would make every value 0; give what one step of the register is worth");
        }

        var unit = field.Text("unit");
        var result = new RegisterField(name, register ?? -1, type ?? default, scale, unit, access) { Kind = kind };
        result = result with { ReadBack = ReadReadBack(field, result, use), Stored = ReadStored(field, use, access), Mask = values.Mask(field, result, use), Sentinels = values.Sentinels(field, result, use) };
        CheckWidth(field, result, use);
        return result;
    }

    /// <summary>What is written is a holding register; where input registers are numbered apart, it counts from the holding ones' first.</summary>
    private RegisterKind? ReadKind(ObjectReader field, FieldUse use, RegisterAccess access)
    {
        RegisterKind? kind = field.Find("kind") is null ? null : field.Choice("kind", Kinds, RegisterKind.Holding);
        var isWritten = use == FieldUse.Command || (use == FieldUse.Parameter && access != RegisterAccess.Read);
        if (kind == RegisterKind.Input && isWritten)
        {
            field.Refuse("kind", "input registers can't be written; give \"holding\", or access \"read\" to a parameter");
        }

        return kind is null && isWritten && wire.FirstInputRegister is not null ? RegisterKind.Holding : kind;
    }

    private bool ReadReadBack(ObjectReader field, RegisterField result, FieldUse use)
    {
        var readsBack = field.Flag("readBack", fallback: false);
        if (readsBack && (use != FieldUse.Command || (result.Name != FieldNames.TorqueLimit && OutputChecks.CommandsTheAxis(result.Name))))
        {
            field.Refuse("readBack", $"only the command field {Show.Quoted(FieldNames.TorqueLimit)} and fields of outputs are read back; take it out");
        }
        else if (readsBack && result.Access == RegisterAccess.Write)
        {
            field.Refuse("readBack", "contradicts access \"write\"; take one of the two out");
        }
        else if (readsBack && result.ReadFunction(wire) != 3)
        {
            field.Refuse("readBack", $"registers that are written are read by function 3, but wire.read.function is {wire.ReadFunction}");
        }

        return readsBack;
    }

    /// <summary>A memory that wears is no place for what changes with every command, nor for what can't be compared before it is written.</summary>
    private static bool ReadStored(ObjectReader field, FieldUse use, RegisterAccess access)
    {
        var isStored = field.Flag("stored", fallback: false);
        if (isStored && use == FieldUse.Command)
        {
            field.Refuse("stored", "a command field is written whenever it changes, and every write wears this register's memory; command a register that is not stored");
        }
        else if (isStored && use == FieldUse.Feedback)
        {
            field.Refuse("stored", "only parameters are stored; a feedback field is never written");
        }
        else if (isStored && access == RegisterAccess.Write)
        {
            field.Refuse("stored", "contradicts access \"write\": what can't be read can't be compared, so it would be written at every start");
        }

        return isStored;
    }

    private static RegisterAccess ReadAccess(ObjectReader field, FieldUse use)
    {
        var usual = use == FieldUse.Feedback ? RegisterAccess.Read : RegisterAccess.ReadWrite;
        var access = field.Choice("access", Accesses, usual) ?? usual;
        if (use == FieldUse.Feedback && access == RegisterAccess.Write)
        {
            field.Refuse("access", "a feedback field is read; \"write\" can't be");
        }
        else if (use == FieldUse.Command && access == RegisterAccess.Read)
        {
            field.Refuse("access", "a command field is written; \"read\" can't be");
        }

        return access;
    }

    /// <summary>A value that takes two requests could be seen half old and half new.</summary>
    private void CheckWidth(ObjectReader field, RegisterField result, FieldUse use)
    {
        var isRead = use == FieldUse.Feedback || (use == FieldUse.Parameter && result.Access != RegisterAccess.Write);
        var isWritten = use == FieldUse.Command || (use == FieldUse.Parameter && result.Access != RegisterAccess.Read);
        if (isRead && result.Width > wire.MaximumRead)
        {
            field.Refuse("type", $"takes {result.Width} registers, but wire.read.maxRegisters is {wire.MaximumRead}: it could not be read in one piece");
        }

        if (isWritten && result.Width > wire.MaximumWrite && wire.Split is null)
        {
            field.Refuse("type", $"takes {result.Width} registers, but wire.write.maxRegisters is {wire.MaximumWrite}: it could not be written in one piece{SplitHint}");
        }
    }

    private string SplitHint => wire.WriteFunction == 6
        ? "; give wire.write.split if the drive takes it as a whole when its control register is written"
        : "";
}

using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Drives;

/// <summary>Reads what a drive has to be told before it takes commands. Left out: it takes them at once.</summary>
internal sealed class UnlockReader(WireDefinition wire, BitReader bits, FileErrors errors)
{
    private const string Member = "unlock";

    public UnlockDefinition? Read(ObjectReader file, IReadOnlyList<FieldDraft> feedback, IReadOnlyList<FieldDraft> command)
    {
        if (file.Object(Member, DriveShapes.Unlock) is not { } unlock)
        {
            return null;
        }

        var drafts = new List<(UnlockWrite Write, FieldDraft Draft)>();
        foreach (var node in unlock.Items("writes", "what is written to unlock the drive, in this order"))
        {
            if (ObjectReader.Open(node, DriveShapes.UnlockWrite, errors) is { } write)
            {
                drafts.Add(ReadWrite(write));
            }
        }

        if (unlock.Find("writes") is { Kind: NodeKind.Array } && drafts.Count == 0)
        {
            unlock.Refuse("writes", $"needs one write at least; a drive that takes commands at once has no {Show.Quoted(Member)}");
        }

        FieldChecks.Across(command, [.. drafts.Select(draft => draft.Draft)], errors);
        if (unlock.Require("stopWhileLocked", "true: the drive takes a stop also while it is locked") is { } stop && !(stop.Kind == NodeKind.Boolean && stop.Boolean))
        {
            errors.Add(stop, "must be true: a drive that takes no stop while it is locked could not be stopped before it is met");
        }

        return new UnlockDefinition(
            [.. drafts.Select(draft => draft.Write)], bits.Read(unlock.Find("unlocked"), feedback, "feedback", mayRise: false));
    }

    private (UnlockWrite Write, FieldDraft Draft) ReadWrite(ObjectReader write)
    {
        var (field, value) = FixedWriteReader.Read(write, Member, "the register that is written", wire);
        return (new UnlockWrite(field, double.IsNaN(value) ? 0 : (long)value), new FieldDraft(field, write.Node));
    }
}

using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Drives;

/// <summary>Fields that share a register.</summary>
internal static class FieldChecks
{
    /// <summary>
    /// Fields of one list must not overlap, nor a parameter that is written with a command field. Feedback may read back what is commanded, and a
    /// parameter may be another view of feedback.
    /// </summary>
    public static void NoOverlap(
        IReadOnlyList<FieldDraft> feedback, IReadOnlyList<FieldDraft> command, IReadOnlyList<FieldDraft> parameters, FileErrors errors)
    {
        Within(feedback, isWritten: false, errors);
        Within(command, isWritten: true, errors);
        Within(parameters, isWritten: false, errors);
        Across(command, [.. parameters.Where(parameter => parameter.Field.Access != RegisterAccess.Read)], errors);
    }

    private static void Within(IReadOnlyList<FieldDraft> drafts, bool isWritten, FileErrors errors)
    {
        var ordered = drafts.Where(draft => draft.Field.Register >= 0).OrderBy(draft => draft.Field.Register).ToArray();
        for (var i = 1; i < ordered.Length; i++)
        {
            var draft = ordered[i];
            if (ordered.Take(i).FirstOrDefault(earlier => Overlap(earlier, draft) && !MayShare(earlier.Field, draft.Field, isWritten)) is { } other)
            {
                Tell(draft, other, errors);
            }
        }
    }

    /// <summary>
    /// Fields of the same registers that are told apart by their masks. What is written must not be another's too; what is read may be seen twice.
    /// </summary>
    private static bool MayShare(RegisterField one, RegisterField other, bool isWritten)
    {
        var isSame = one.Register == other.Register && one.Width == other.Width;
        return isSame && (isWritten ? one.Mask != 0 && other.Mask != 0 && (one.Mask & other.Mask) == 0 : one.Mask != 0 || other.Mask != 0);
    }

    /// <summary>What is written besides the commands must not be a register of theirs.</summary>
    public static void Across(IReadOnlyList<FieldDraft> some, IReadOnlyList<FieldDraft> others, FileErrors errors)
    {
        foreach (var other in others)
        {
            if (some.FirstOrDefault(one => Overlap(one, other)) is { } one)
            {
                Tell(other, one, errors);
            }
        }
    }

    private static bool Overlap(FieldDraft a, FieldDraft b) =>
        a.Field.Register >= 0 && b.Field.Register >= 0 && a.Field.Register < End(b) && b.Field.Register < End(a) && IsSameKind(a.Field, b.Field);

    /// <summary>Holding and input registers of one number are two registers.</summary>
    private static bool IsSameKind(RegisterField a, RegisterField b) => a.Kind is null || b.Kind is null || a.Kind == b.Kind;

    private static int End(FieldDraft draft) => draft.Field.Register + draft.Field.Width;

    private static void Tell(FieldDraft draft, FieldDraft other, FileErrors errors)
    {
        var node = draft.Node.Find("register") ?? draft.Node;
        var line = errors.LineOf(other.Node.Find("register") ?? other.Node);
        errors.Add(node, $"{Describe(draft)} overlaps {Describe(other)} in line {line}");
    }

    private static string Describe(FieldDraft draft)
    {
        var field = draft.Field;
        var registers = field.Width == 1 ? $"register {field.Register}" : $"registers {field.Register} to {field.Register + 1}";
        return $"{Show.Quoted(field.Name)} ({registers})";
    }
}

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
        Within(feedback, errors);
        Within(command, errors);
        Within(parameters, errors);
        Across(command, [.. parameters.Where(parameter => parameter.Field.Access != RegisterAccess.Read)], errors);
    }

    private static void Within(IReadOnlyList<FieldDraft> drafts, FileErrors errors)
    {
        FieldDraft? widest = null;
        foreach (var draft in drafts.Where(draft => draft.Field.Register >= 0).OrderBy(draft => draft.Field.Register))
        {
            if (widest is not null && draft.Field.Register < End(widest))
            {
                Tell(draft, widest, errors);
            }

            widest = widest is null || End(draft) > End(widest) ? draft : widest;
        }
    }

    private static void Across(IReadOnlyList<FieldDraft> some, IReadOnlyList<FieldDraft> others, FileErrors errors)
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
        a.Field.Register >= 0 && b.Field.Register >= 0 && a.Field.Register < End(b) && b.Field.Register < End(a);

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

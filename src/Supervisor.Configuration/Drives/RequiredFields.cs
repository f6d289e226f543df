using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Drives;

/// <summary>Fields without which a drive can't be supervised.</summary>
internal static class RequiredFields
{
    private static readonly (string Name, string What)[] FeedbackOfAll =
    [
        (FieldNames.Position, "the actual position; without it limits, arrival and standstill can't be watched"),
    ];

    private static readonly (string Name, string What)[] CommandOfAll = [(FieldNames.TargetPosition, "where to move")];

    private static readonly (string Name, string What)[] FeedbackOfCia402 = [(FieldNames.Statusword, "CiA 402 object 6041h")];

    private static readonly (string Name, string What)[] CommandOfCia402 =
    [
        (FieldNames.Controlword, "CiA 402 object 6040h"), (FieldNames.Mode, "CiA 402 object 6060h"),
    ];

    /// <summary>Parameters that are times; the program reads them in ms after scaling.</summary>
    private static readonly string[] Times = [FieldNames.CommunicationTimeout, FieldNames.Uptime];

    public static void Check(
        ObjectReader file,
        StateCoding coding,
        IReadOnlyList<FieldDraft> feedback,
        IReadOnlyList<FieldDraft> command,
        IReadOnlyList<FieldDraft> parameters,
        FileErrors errors)
    {
        var isCia402 = coding == StateCoding.Cia402 && file.Find("states") is { Kind: NodeKind.Text };
        Require(file, "feedback", feedback, isCia402 ? [.. FeedbackOfCia402, .. FeedbackOfAll] : FeedbackOfAll, errors);
        Require(file, "command", command, isCia402 ? [.. CommandOfCia402, .. CommandOfAll] : CommandOfAll, errors);
        if (FieldDraft.Find(feedback, FieldNames.Position) is { Field.Sentinels.Count: > 0 } position && FieldDraft.Find(feedback, FieldNames.Velocity) is null)
        {
            errors.Add(position.Node.Find("sentinels")!, $"a drive that may not know its position must tell its velocity, or rest could not be seen; declare the feedback field {Show.Quoted(FieldNames.Velocity)}");
        }

        foreach (var time in parameters.Where(draft => Times.Contains(draft.Field.Name)))
        {
            if (time.Node.Find("unit") is { Kind: NodeKind.Text } unit && unit.Text != Milliseconds.Unit)
            {
                errors.Add(unit, $"{Show.Quoted(unit.Text)}: this time is read in ms; give unit \"ms\" and let scale convert");
            }
        }
    }

    private static void Require(
        ObjectReader file, string list, IReadOnlyList<FieldDraft> drafts, IReadOnlyList<(string Name, string What)> needed, FileErrors errors)
    {
        if (file.Find(list) is not { Kind: NodeKind.Array } node)
        {
            return;
        }

        var names = drafts.Select(draft => draft.Field.Name).ToArray();
        foreach (var (name, what) in needed.Where(field => !names.Contains(field.Name)))
        {
            var meant = Nearest.Find(name, names) is { } near ? $"; is {Show.Quoted(near)} meant to be it?" : "";
            errors.Add(node, $"field {Show.Quoted(name)} is missing: {what}{meant}");
        }
    }
}

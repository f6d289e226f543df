namespace Supervisor.Configuration.Reading;

/// <summary>Single values, each told where it is wrong.</summary>
internal static class Values
{
    /// <summary>The number, or NaN with an error told.</summary>
    public static double Number(Node node, NumberRange range, FileErrors errors)
    {
        if (node.Kind != NodeKind.Number)
        {
            errors.WrongKind(node, "a number");
            return double.NaN;
        }

        if (!double.IsFinite(node.Number) || !range.Holds(node.Number))
        {
            errors.Add(node, $"{Show.Digits(node.Text)} {range.Describe(node.Number)}");
            return double.NaN;
        }

        return node.Number;
    }

    /// <summary>The whole number, or null with an error told.</summary>
    public static int? Integer(Node node, NumberRange range, FileErrors errors)
    {
        var value = Number(node, range, errors);
        if (double.IsNaN(value))
        {
            return null;
        }

        if (Math.Floor(value) != value)
        {
            errors.Add(node, $"{Show.Digits(node.Text)} must be a whole number");
            return null;
        }

        return (int)value;
    }

    public static bool? Flag(Node node, FileErrors errors)
    {
        if (node.Kind == NodeKind.Boolean)
        {
            return node.Boolean;
        }

        errors.WrongKind(node, "true or false");
        return null;
    }

    /// <summary>A text that can be shown on one line, or null with an error told.</summary>
    public static string? Text(Node node, FileErrors errors)
    {
        if (node.Kind != NodeKind.Text)
        {
            errors.WrongKind(node, "a text");
            return null;
        }

        if (string.IsNullOrWhiteSpace(node.Text))
        {
            errors.Add(node, "must not be empty");
            return null;
        }

        if (node.Text.Any(Show.IsInvisible))
        {
            errors.Add(node, $"{Show.Quoted(node.Text)} holds a control or invisible character; take it out");
            return null;
        }

        return node.Text;
    }

    public static T? Choice<T>(Node node, Choices<T> choices, FileErrors errors)
        where T : struct
    {
        if (node.Kind != NodeKind.Text)
        {
            errors.WrongKind(node, $"one of {Show.List(choices.Words)}");
            return null;
        }

        var value = choices.Find(node.Text);
        if (value is null)
        {
            errors.Add(node, $"{Show.Quoted(node.Text)} is none of {Show.List(choices.Words)}{Suggestion(node.Text, choices.Words)}");
        }

        return value;
    }

    public static IReadOnlyList<Node> Items(Node node, FileErrors errors)
    {
        if (node.Kind == NodeKind.Array)
        {
            return node.Items;
        }

        errors.WrongKind(node, "an array");
        return [];
    }

    public static IReadOnlyList<Member> Entries(Node node, FileErrors errors)
    {
        if (node.Kind == NodeKind.Object)
        {
            return node.Members;
        }

        errors.WrongKind(node, "an object");
        return [];
    }

    private static string Suggestion(string word, IReadOnlyList<string> known) =>
        Nearest.Find(word, known) is { } nearest ? $"; did you mean {Show.Quoted(nearest)}?" : "";
}

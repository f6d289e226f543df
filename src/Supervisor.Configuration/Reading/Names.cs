namespace Supervisor.Configuration.Reading;

/// <summary>Rules for names that people type and that stand in references such as <c>AXIS.NAME</c>.</summary>
internal static class Names
{
    /// <summary>Longest name; fits a line of a terminal table and a record of the history.</summary>
    public const int Longest = 64;

    /// <summary>Tells what is wrong with a name. The name is handed back even so, for references to it still to be found.</summary>
    /// <param name="node">The name as the file has it; null: told before as missing.</param>
    /// <param name="forbidden">Characters that have a meaning where the name is referred to.</param>
    /// <param name="errors">Where errors go.</param>
    public static string? Read(Node? node, string forbidden, FileErrors errors)
    {
        if (node is null || Values.Text(node, errors) is not { } name)
        {
            return null;
        }

        Check(node.Offset, node.Path, name, forbidden, errors);
        return name;
    }

    /// <summary>Tells what is wrong with a name that is a member's name.</summary>
    public static void Check(int offset, string path, string name, string forbidden, FileErrors errors)
    {
        var shown = Show.Quoted(name);
        if (string.IsNullOrWhiteSpace(name))
        {
            errors.Add(offset, path, "the name must not be empty");
        }
        else if (name.Length > Longest)
        {
            errors.Add(offset, path, $"the name is {name.Length} characters long; at most {Longest} are allowed");
        }
        else if (name.Any(Show.IsInvisible))
        {
            errors.Add(offset, path, $"{shown} holds a control or invisible character; take it out");
        }
        else if (name.IndexOfAny(forbidden.ToCharArray()) is >= 0 and var at)
        {
            errors.Add(offset, path, $"{shown} must not contain '{name[at]}'");
        }
        else if (char.IsWhiteSpace(name[0]) || char.IsWhiteSpace(name[^1]) || name[0] == '-')
        {
            errors.Add(offset, path, $"{shown} must not begin or end with a blank or begin with '-'");
        }
    }
}

/// <summary>Tells names (or addresses, devices) that are used twice.</summary>
internal sealed class UsedOnce<T>(FileErrors errors)
    where T : notnull
{
    private readonly Dictionary<T, Node> first = [];

    /// <summary>Notes a use; <paramref name="message"/> gets the line of the first one.</summary>
    public void Note(T key, Node at, Func<int, string> message)
    {
        if (!first.TryAdd(key, at))
        {
            errors.Add(at, message(errors.LineOf(first[key])));
        }
    }
}

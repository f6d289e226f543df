namespace Supervisor.Configuration.Reading;

/// <summary>
/// Reads the members of one object and tells what is wrong with them. A member that is missing or wrong is told once; what is handed back for it
/// (null, or NaN for a number) then satisfies no comparison, so that a check that builds on it stays silent.
/// </summary>
internal sealed class ObjectReader
{
    private readonly FileErrors errors;
    private readonly HashSet<string> meantByUnknown = new(StringComparer.Ordinal);

    private ObjectReader(Node node, FileErrors errors)
    {
        Node = node;
        this.errors = errors;
    }

    public Node Node { get; }

    /// <summary>Begins an object: tells a value that is none, and members the shape does not have.</summary>
    public static ObjectReader? Open(Node? node, ObjectShape shape, FileErrors errors)
    {
        if (node is null)
        {
            return null;
        }

        if (node.Kind != NodeKind.Object)
        {
            errors.WrongKind(node, "an object");
            return null;
        }

        var reader = new ObjectReader(node, errors);
        reader.TellUnknown(shape);
        return reader;
    }

    /// <summary>The member, or null where the file does not have it.</summary>
    public Node? Find(string name) => Node.Find(name);

    /// <summary>The member, or null with an error told. <paramref name="what"/> says what it is for.</summary>
    public Node? Require(string name, string what)
    {
        var node = Node.Find(name);
        if (node is null && !meantByUnknown.Contains(name))
        {
            errors.Add(Node.Offset, MemberPath.Append(Node.Path, name), $"is missing: {what}");
        }

        return node;
    }

    /// <summary>A required number; NaN with an error told.</summary>
    public double Number(string name, NumberRange range, string what) =>
        Require(name, what) is { } node ? Values.Number(node, range, errors) : double.NaN;

    /// <summary>A number that may be left out; NaN with an error told when it is wrong.</summary>
    public double Number(string name, NumberRange range, double fallback) =>
        Find(name) is { } node ? Values.Number(node, range, errors) : fallback;

    /// <summary>A required whole number; null with an error told.</summary>
    public int? Integer(string name, NumberRange range, string what) =>
        Require(name, what) is { } node ? Values.Integer(node, range, errors) : null;

    /// <summary>A whole number that may be left out; null with an error told when it is wrong.</summary>
    public int? Integer(string name, NumberRange range, int fallback) =>
        Find(name) is { } node ? Values.Integer(node, range, errors) : fallback;

    /// <summary>True or false; <paramref name="fallback"/> when left out or wrong.</summary>
    public bool Flag(string name, bool fallback) => Find(name) is { } node ? Values.Flag(node, errors) ?? fallback : fallback;

    /// <summary>A required text of one line, not empty; null with an error told.</summary>
    public string? Text(string name, string what) => Require(name, what) is { } node ? Values.Text(node, errors) : null;

    /// <summary>A text that may be left out.</summary>
    public string? Text(string name) => Find(name) is { } node ? Values.Text(node, errors) : null;

    /// <summary>A required word; null with an error told.</summary>
    public T? Choice<T>(string name, Choices<T> choices, string what)
        where T : struct => Require(name, what) is { } node ? Values.Choice(node, choices, errors) : null;

    /// <summary>A word that may be left out; null with an error told when it is wrong.</summary>
    public T? Choice<T>(string name, Choices<T> choices, T fallback)
        where T : struct => Find(name) is { } node ? Values.Choice(node, choices, errors) : fallback;

    /// <summary>Two numbers in an array; each NaN with an error told.</summary>
    public (double First, double Second) Pair(Node node, NumberRange range)
    {
        var items = Values.Items(node, errors);
        if (items.Count == 2)
        {
            return (Values.Number(items[0], range, errors), Values.Number(items[1], range, errors));
        }

        if (node.Kind == NodeKind.Array)
        {
            errors.Add(node, $"two numbers are expected, found {items.Count}");
        }

        return (double.NaN, double.NaN);
    }

    /// <summary>An object that may be left out.</summary>
    public ObjectReader? Object(string name, ObjectShape shape) => Open(Find(name), shape, errors);

    /// <summary>A required object; null with an error told.</summary>
    public ObjectReader? Object(string name, ObjectShape shape, string what) => Open(Require(name, what), shape, errors);

    /// <summary>Values of a required array; empty with an error told.</summary>
    public IReadOnlyList<Node> Items(string name, string what) => Require(name, what) is { } node ? Values.Items(node, errors) : [];

    /// <summary>Values of an array that may be left out.</summary>
    public IReadOnlyList<Node> Items(string name) => Find(name) is { } node ? Values.Items(node, errors) : [];

    /// <summary>Members of an object with free names that may be left out.</summary>
    public IReadOnlyList<Member> Entries(string name) => Find(name) is { } node ? Values.Entries(node, errors) : [];

    /// <summary>Tells an error at a member, such as <c>limits.velocity</c>; where the file leaves it out, at the innermost object that is there.</summary>
    public void Refuse(string member, string message)
    {
        var at = Node;
        var path = Node.Path;
        foreach (var name in member.Split('.'))
        {
            at = at.Find(name) ?? at;
            path = MemberPath.Append(path, name);
        }

        errors.Add(at.Offset, path, message);
    }

    private void TellUnknown(ObjectShape shape)
    {
        foreach (var member in Node.Members)
        {
            if (shape.Members.Contains(member.Name))
            {
                continue;
            }

            errors.Add(member.NameOffset, member.Value.Path, $"unknown member{Nearest.Hint(member.Name, shape.Members)}");
            if (Nearest.Find(member.Name, shape.Members) is { } meant)
            {
                meantByUnknown.Add(meant);
            }
        }
    }
}

namespace Supervisor.Configuration.Reading;

/// <summary>Kind of a JSON value.</summary>
internal enum NodeKind
{
    Object,
    Array,
    Text,
    Number,
    Boolean,
    Null,
}

/// <summary>A JSON value with its place in the file.</summary>
/// <param name="Kind">Kind.</param>
/// <param name="Offset">Offset of its first byte.</param>
/// <param name="Path">Member path from the root, such as <c>axes[2].limits.position</c>; empty for the root.</param>
internal sealed record Node(NodeKind Kind, int Offset, string Path)
{
    /// <summary>The text of a text, the digits of a number.</summary>
    public string Text { get; init; } = "";

    /// <summary>The value of a number; not finite when it is too large for a double.</summary>
    public double Number { get; init; }

    public bool Boolean { get; init; }

    /// <summary>Members of an object in the file's order, each name once.</summary>
    public List<Member> Members { get; } = [];

    /// <summary>Values of an array.</summary>
    public List<Node> Items { get; } = [];

    public Node? Find(string name)
    {
        foreach (var member in Members)
        {
            if (member.Name == name)
            {
                return member.Value;
            }
        }

        return null;
    }

    /// <summary>What stands there, for a message.</summary>
    public string Found => Kind switch
    {
        NodeKind.Object => "an object",
        NodeKind.Array => "an array",
        NodeKind.Text => $"the text {Show.Quoted(Text)}",
        NodeKind.Number => $"the number {Show.Digits(Text)}",
        NodeKind.Boolean => Boolean ? "true" : "false",
        _ => "null",
    };
}

/// <summary>A member of an object.</summary>
/// <param name="Name">Name.</param>
/// <param name="NameOffset">Offset of the name's opening quote.</param>
/// <param name="Value">Value.</param>
internal readonly record struct Member(string Name, int NameOffset, Node Value);

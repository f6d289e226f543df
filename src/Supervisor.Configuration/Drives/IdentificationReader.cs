using System.Text;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Drives;

/// <summary>Reads what a device must tell of itself. Left out: it is not asked. A member left out: any text will do, and is shown.</summary>
internal sealed class IdentificationReader(FileErrors errors)
{
    public const string Member = "identification";

    // What one frame holds.
    private const int MostLetters = 244;

    public static readonly ObjectShape Shape = new(Member, "vendor", "product", "revisions");

    public IdentificationDefinition? Read(ObjectReader device)
    {
        if (device.Object(Member, Shape) is not { } told)
        {
            return null;
        }

        var once = new UsedOnce<string>(errors);
        var revisions = new List<string>();
        foreach (var node in told.Items("revisions"))
        {
            if (Text(node) is { } revision)
            {
                once.Note(revision, node, line => $"{Show.Quoted(revision)} is listed twice; first in line {line}");
                revisions.Add(revision);
            }
        }

        if (told.Find("revisions") is { Kind: NodeKind.Array } && told.Items("revisions").Count == 0)
        {
            told.Refuse("revisions", "lists none, so no device would do; list those that are accepted, or take it out");
        }

        return new IdentificationDefinition(Text(told.Find("vendor")), Text(told.Find("product")), revisions);
    }

    private string? Text(Node? node)
    {
        if (node is null || Values.Text(node, errors) is not { } text)
        {
            return null;
        }

        if (!Ascii.IsValid(text) || text.Length > MostLetters || text.Trim() != text)
        {
            errors.Add(node, $"must be at most {MostLetters} letters of ASCII without blanks at its ends, as the device tells it");
            return null;
        }

        return text;
    }
}

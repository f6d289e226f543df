using System.Text.Json;

namespace Supervisor.Configuration.Reading;

/// <summary>Turns a file's text into nodes in one pass; comments and trailing commas are allowed, members may appear once.</summary>
internal static class NodeParser
{
    private const int DeepestNesting = 64;

    private static readonly JsonReaderOptions Options = new()
    {
        AllowTrailingCommas = true,
        CommentHandling = JsonCommentHandling.Skip,
        MaxDepth = DeepestNesting,
    };

    /// <summary>The root, or null with an error told.</summary>
    public static Node? Parse(SourceText source, FileErrors errors)
    {
        var invalid = source.FirstInvalidByte();
        if (invalid >= 0)
        {
            errors.Add(invalid, "", "not UTF-8 from here on; save the file as UTF-8");
            return null;
        }

        var reader = new Utf8JsonReader(source.Text, Options);
        try
        {
            if (!HasToken(source.Text))
            {
                errors.Add(source.Start, "", "the file is empty; an object in braces is expected");
                return null;
            }

            reader.Read();
            var root = new Pass(source, errors).Value(ref reader, "");
            reader.Read();
            return root;
        }
        catch (JsonException e)
        {
            errors.Add(source.OffsetOf(e.LineNumber ?? 0, e.BytePositionInLine ?? 0), "", $"broken JSON: {Reason(e)}");
            return null;
        }
    }

    /// <summary>True unless there is nothing but blanks and comments; a comment without an end is left to the reader to tell.</summary>
    private static bool HasToken(ReadOnlySpan<byte> text)
    {
        var reader = new Utf8JsonReader(text, isFinalBlock: false, new JsonReaderState(Options));
        return reader.Read() || reader.BytesConsumed < text.TrimEnd(" \t\r\n"u8).Length;
    }

    /// <summary>The reader's words without the place it appends, which is told in front and counts bytes from 0.</summary>
    private static string Reason(JsonException e)
    {
        var place = e.Message.IndexOf(" LineNumber:", StringComparison.Ordinal);
        return Show.OneLine(place < 0 ? e.Message : e.Message[..place]);
    }

    private readonly struct Pass(SourceText source, FileErrors errors)
    {
        public Node Value(ref Utf8JsonReader reader, string path)
        {
            var offset = source.Start + (int)reader.TokenStartIndex;
            switch (reader.TokenType)
            {
                case JsonTokenType.StartObject:
                    return Members(ref reader, new Node(NodeKind.Object, offset, path));
                case JsonTokenType.StartArray:
                    return Items(ref reader, new Node(NodeKind.Array, offset, path));
                case JsonTokenType.String:
                    return new Node(NodeKind.Text, offset, path) { Text = Text(ref reader, path) };
                case JsonTokenType.Number:
                    return Number(ref reader, offset, path);
                case JsonTokenType.True or JsonTokenType.False:
                    return new Node(NodeKind.Boolean, offset, path) { Boolean = reader.TokenType == JsonTokenType.True };
                default:
                    return new Node(NodeKind.Null, offset, path);
            }
        }

        private Node Members(ref Utf8JsonReader reader, Node node)
        {
            var firstUse = new Dictionary<string, int>(StringComparer.Ordinal);
            while (reader.Read() && reader.TokenType != JsonTokenType.EndObject)
            {
                var nameOffset = source.Start + (int)reader.TokenStartIndex;
                var name = Text(ref reader, node.Path);
                var path = MemberPath.Append(node.Path, name);
                reader.Read();
                var value = Value(ref reader, path);
                if (firstUse.TryAdd(name, nameOffset))
                {
                    node.Members.Add(new Member(name, nameOffset, value));
                }
                else
                {
                    errors.Add(nameOffset, path, $"appears twice; first in line {source.Locate(firstUse[name]).Line}");
                }
            }

            return node;
        }

        private Node Items(ref Utf8JsonReader reader, Node node)
        {
            while (reader.Read() && reader.TokenType != JsonTokenType.EndArray)
            {
                node.Items.Add(Value(ref reader, MemberPath.Append(node.Path, node.Items.Count)));
            }

            return node;
        }

        private static Node Number(ref Utf8JsonReader reader, int offset, string path)
        {
            var value = reader.TryGetDouble(out var number) ? number : double.PositiveInfinity;
            return new Node(NodeKind.Number, offset, path) { Number = value, Text = System.Text.Encoding.ASCII.GetString(reader.ValueSpan) };
        }

        private string Text(ref Utf8JsonReader reader, string path)
        {
            try
            {
                return reader.GetString() ?? "";
            }
            catch (InvalidOperationException)
            {
                // The only text in valid UTF-8 that has no string: half of an escaped surrogate pair.
                errors.Add(source.Start + (int)reader.TokenStartIndex, path, "an escape like \\ud800 needs its second half");
                return "\ufffd";
            }
        }
    }
}

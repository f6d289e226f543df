using System.Text.Json;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;

namespace Supervisor.Configuration.Tests;

/// <summary>A good file with a few members changed: one edit a line, <c>PATH = JSON</c> to set (or append) and <c>PATH -</c> to remove.</summary>
internal static partial class EditedJson
{
    private static readonly JsonDocumentOptions Lenient = new() { CommentHandling = JsonCommentHandling.Skip, AllowTrailingCommas = true };

    public static JsonNode Parse(string path) => JsonNode.Parse(File.ReadAllText(path), null, Lenient)!;

    public static string Apply(string goodFile, string edits)
    {
        var root = Parse(goodFile);
        Apply(root, edits);
        return root.ToJsonString();
    }

    public static void Apply(JsonNode root, string edits)
    {
        foreach (var line in edits.Split('\n', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries))
        {
            var match = Edit().Match(line);
            Assert.True(match.Success, line);
            Apply(root, match.Groups["path"].Value, match.Groups["json"].Success ? match.Groups["json"].Value : null);
        }
    }

    private static void Apply(JsonNode root, string path, string? json)
    {
        var steps = Step().Matches(path).Select(match => match.Value).ToArray();
        var parent = root;
        foreach (var step in steps[..^1])
        {
            parent = step[0] == '[' ? parent[Index(step)]! : parent[step]!;
        }

        Set(parent, steps[^1], json);
    }

    private static void Set(JsonNode parent, string step, string? json)
    {
        var value = json is null ? null : JsonNode.Parse(json);
        if (parent is JsonArray array)
        {
            if (json is null)
            {
                array.RemoveAt(Index(step));
            }
            else if (Index(step) == array.Count)
            {
                array.Add(value);
            }
            else
            {
                array[Index(step)] = value;
            }
        }
        else if (json is null)
        {
            Assert.True(parent.AsObject().Remove(step), step);
        }
        else
        {
            parent[step] = value;
        }
    }

    private static int Index(string step) => int.Parse(step.Trim('[', ']'));

    [GeneratedRegex(@"^(?<path>\S+)( = (?<json>.+)| -)$")]
    private static partial Regex Edit();

    [GeneratedRegex(@"\[\d+\]|[^.\[\]]+")]
    private static partial Regex Step();
}

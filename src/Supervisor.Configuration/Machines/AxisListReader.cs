using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads which axes something concerns: <c>"all"</c>, or their names.</summary>
internal sealed class AxisListReader(FileErrors errors, IReadOnlyList<AxisDraft> axes)
{
    /// <summary>The word for every axis.</summary>
    public const string All = "all";

    /// <summary>Indices of every axis.</summary>
    public int[] Every => [.. Enumerable.Range(0, axes.Count)];

    /// <summary>Indices of the axes, each once; empty with an error told.</summary>
    /// <param name="node">The member; null: told before as missing.</param>
    /// <param name="whenEmpty">What is wrong with an empty list; null: it may be empty.</param>
    public int[] Read(Node? node, string? whenEmpty)
    {
        if (node is null)
        {
            return [];
        }

        if (node.Kind == NodeKind.Text && node.Text == All)
        {
            return Every;
        }

        if (node.Kind != NodeKind.Array)
        {
            errors.WrongKind(node, "\"all\" or an array of axis names");
            return [];
        }

        if (node.Items.Count == 0 && whenEmpty is not null)
        {
            errors.Add(node, $"is empty; {whenEmpty}");
        }

        return ReadNames(node);
    }

    private int[] ReadNames(Node list)
    {
        var once = new UsedOnce<string>(errors);
        var known = axes.Select(axis => axis.Name ?? "").ToList();
        var indices = new List<int>();
        foreach (var node in list.Items)
        {
            if (Values.Text(node, errors) is not { } name)
            {
                continue;
            }

            var index = known.IndexOf(name);
            if (index < 0)
            {
                errors.Add(node, $"no axis {Show.Quoted(name)}{Nearest.Hint(name, [.. known.Where(axis => axis.Length > 0)])}");
                continue;
            }

            once.Note(name, node, _ => $"axis {Show.Quoted(name)} is listed twice");
            indices.Add(index);
        }

        return [.. indices.Distinct()];
    }
}

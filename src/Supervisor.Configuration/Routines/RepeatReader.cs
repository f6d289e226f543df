using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Routines;

/// <summary>Reads repeats. A repeat names steps that stand before it, so that running it ends; it may name an earlier repeat.</summary>
internal sealed class RepeatReader(FileErrors errors)
{
    /// <summary>Most steps one run may come to; far above a shift, and keeps nested repeats from meaning years by a slip.</summary>
    private const double MostRuns = 1_000_000;

    private readonly List<string> names = [];

    /// <summary>Steps each step comes to when it is run.</summary>
    private readonly Dictionary<int, double> runs = [];

    /// <summary>Takes in the names of all steps beforehand, to tell a later step from an unknown one.</summary>
    public void Announce(IReadOnlyList<Node> steps) =>
        names.AddRange(steps.Select(step => step.Kind == NodeKind.Object && step.Find("name") is { Kind: NodeKind.Text } name ? name.Text : ""));

    public RepeatStep Read(ObjectReader step, string name, int index)
    {
        if (step.Object("repeat", RoutineShapes.Repeat) is not { } repeat)
        {
            return new RepeatStep(name, [], 0);
        }

        var indices = new List<int>();
        foreach (var node in repeat.Items("steps", "names of earlier steps"))
        {
            if (Values.Text(node, errors) is { } earlier && Find(node, earlier, index) is { } found)
            {
                indices.Add(found);
            }
        }

        if (repeat.Find("steps") is { Kind: NodeKind.Array, Items.Count: 0 })
        {
            repeat.Refuse("steps", "is empty; name at least one earlier step");
        }

        var times = repeat.Integer("times", new NumberRange(1, MostRuns, ""), "how often");
        CheckLength(repeat, indices, times ?? 1, index);
        return new RepeatStep(name, indices, times ?? 1);
    }

    private int? Find(Node node, string name, int index)
    {
        var found = name.Length == 0 ? -1 : names.IndexOf(name);
        if (found < 0)
        {
            errors.Add(node, $"no step {Show.Quoted(name)}{Nearest.Hint(name, [.. names.Take(index).Where(known => known.Length > 0)])}");
            return null;
        }

        if (found >= index)
        {
            errors.Add(node, found == index ? "a repeat can't repeat itself" : $"step {Show.Quoted(name)} stands behind this one; a repeat names earlier steps");
            return null;
        }

        return found;
    }

    private void CheckLength(ObjectReader repeat, List<int> indices, int times, int index)
    {
        var length = times * indices.Sum(step => runs.GetValueOrDefault(step, 1));
        runs[index] = Math.Min(length, MostRuns);
        if (length > MostRuns)
        {
            repeat.Refuse("times", $"comes to {Show.Number(length)} steps; at most {Show.Number(MostRuns)} are allowed");
        }
    }
}

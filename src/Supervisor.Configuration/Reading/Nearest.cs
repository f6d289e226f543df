namespace Supervisor.Configuration.Reading;

/// <summary>Finds the known name that a wrong one was probably meant to be.</summary>
internal static class Nearest
{
    private const int LongestComparedName = 64;
    private const int MostNamesListed = 20;

    /// <summary>The nearest of <paramref name="known"/>, or null when none is near.</summary>
    public static string? Find(string name, IEnumerable<string> known)
    {
        string? best = null;
        var least = int.MaxValue;
        foreach (var candidate in known)
        {
            var distance = Distance(name, candidate);
            if (distance < least && distance <= Math.Max(1, Math.Min(name.Length, candidate.Length) / 3))
            {
                (best, least) = (candidate, distance);
            }
        }

        return best;
    }

    /// <summary>What to say behind "unknown …": the nearest name, else the known ones, else nothing.</summary>
    public static string Hint(string name, IReadOnlyCollection<string> known)
    {
        if (Find(name, known) is { } nearest)
        {
            return $"; did you mean {Show.Quoted(nearest)}?";
        }

        return known.Count is 0 or > MostNamesListed ? "" : $"; known: {Show.List(known)}";
    }

    /// <summary>Letters to change, add, drop or swap with their neighbour; upper and lower case count as equal.</summary>
    private static int Distance(string a, string b)
    {
        if (a.Length > LongestComparedName || b.Length > LongestComparedName)
        {
            return int.MaxValue;
        }

        var rows = new int[a.Length + 1, b.Length + 1];
        for (var i = 0; i <= a.Length; i++)
        {
            for (var j = 0; j <= b.Length; j++)
            {
                rows[i, j] = i == 0 || j == 0 ? i + j : Step(rows, a, b, i, j);
            }
        }

        return rows[a.Length, b.Length];
    }

    private static int Step(int[,] rows, string a, string b, int i, int j)
    {
        var change = Same(a[i - 1], b[j - 1]) ? 0 : 1;
        var least = Math.Min(Math.Min(rows[i - 1, j] + 1, rows[i, j - 1] + 1), rows[i - 1, j - 1] + change);
        var swapped = i > 1 && j > 1 && Same(a[i - 1], b[j - 2]) && Same(a[i - 2], b[j - 1]);
        return swapped ? Math.Min(least, rows[i - 2, j - 2] + 1) : least;
    }

    private static bool Same(char a, char b) => char.ToLowerInvariant(a) == char.ToLowerInvariant(b);
}

namespace Supervisor.Configuration.Languages;

/// <summary>The languages in which a machine file has its texts. The first is that of its plain members, and what is shown where no other fits.</summary>
/// <param name="Tags">BCP 47, at least one.</param>
public sealed record LanguageList(IReadOnlyList<string> Tags)
{
    /// <summary>What a file that names none has its texts in: not known, so nothing is said of it.</summary>
    public static LanguageList Default { get; } = new(["und"]);

    /// <summary>
    /// The language to show to somebody who asks for one: that one, else what is left of it when its last parts are taken off one by one, else the first
    /// (lookup of RFC 4647, 3.4). So <c>de-CH</c> is shown <c>de</c> where there is no <c>de-CH</c>.
    /// </summary>
    /// <param name="wanted">BCP 47; null or empty: the first.</param>
    /// <returns>Index into <see cref="Tags"/>.</returns>
    public int Find(string? wanted)
    {
        for (var range = wanted ?? ""; range.Length > 0; range = Shorter(range))
        {
            for (var i = 0; i < Tags.Count; i++)
            {
                if (string.Equals(Tags[i], range, StringComparison.OrdinalIgnoreCase))
                {
                    return i;
                }
            }
        }

        return 0;
    }

    /// <summary>Without its last part, and without a single letter that then stands last, which only introduces what follows.</summary>
    private static string Shorter(string range)
    {
        var end = range.LastIndexOf('-');
        if (end < 0)
        {
            return "";
        }

        return end >= 2 && range[end - 2] == '-' ? range[..(end - 2)] : range[..end];
    }
}

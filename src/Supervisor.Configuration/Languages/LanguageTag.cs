using System.Text.RegularExpressions;

namespace Supervisor.Configuration.Languages;

/// <summary>Names of languages as BCP 47 (RFC 5646) writes them, such as <c>de</c>, <c>pt-BR</c> or <c>zh-Hant</c>. Case makes no difference.</summary>
public static partial class LanguageTag
{
    /// <summary>Longest tag that is taken.</summary>
    public const int Longest = 35;

    // Two-letter codes of ISO 639-1 as the IANA registry of language subtags has them (list from memory, held against the C library's locales by a test).
    private const string TwoLetters =
        "aa ab ae af ak am an ar as av ay az ba be bg bi bm bn bo br bs ca ce ch co cr cs cu cv cy da de dv dz ee el en eo es et eu fa ff fi fj fo fr fy "
        + "ga gd gl gn gu gv ha he hi ho hr ht hu hy hz ia id ie ig ii ik io is it iu ja jv ka kg ki kj kk kl km kn ko kr ks ku kv kw ky la lb lg li ln lo lt "
        + "lu lv mg mh mi mk ml mn mr ms mt my na nb nd ne ng nl nn no nr nv ny oc oj om or os pa pi pl ps pt qu rm rn ro ru rw sa sc sd se sg si sk sl sm sn so "
        + "sq sr ss st su sv sw ta te tg th ti tk tl tn to tr ts tt tw ty ug uk ur uz ve vi vo wa wo xh yi yo za zh zu";

    private static readonly HashSet<string> Known = [.. TwoLetters.Split(' ')];

    /// <summary>True when it is written as RFC 5646, 2.1 has it: language, script, region, variants, extensions, private use. The grandfathered tags of that section are not taken.</summary>
    public static bool IsWellFormed(string tag)
    {
        ArgumentNullException.ThrowIfNull(tag);
        return tag.Length <= Longest && Shape().IsMatch(tag);
    }

    /// <summary>False for two letters that name no language, such as <c>dk</c> (a country; Danish is <c>da</c>). Longer names of languages are taken as they are.</summary>
    public static bool IsKnown(string tag)
    {
        ArgumentNullException.ThrowIfNull(tag);
        var primary = tag.Split('-')[0].ToLowerInvariant();
        return primary.Length != 2 || Known.Contains(primary);
    }

    [GeneratedRegex(
        "^(?:[a-z]{2,3}(?:-[a-z]{3}){0,3}|[a-z]{4,8})(?:-[a-z]{4})?(?:-(?:[a-z]{2}|[0-9]{3}))?(?:-(?:[a-z0-9]{5,8}|[0-9][a-z0-9]{3}))*(?:-[0-9a-wyz](?:-[a-z0-9]{2,8})+)*(?:-x(?:-[a-z0-9]{1,8})+)?$",
        RegexOptions.IgnoreCase | RegexOptions.CultureInvariant)]
    private static partial Regex Shape();
}

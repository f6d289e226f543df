using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Languages;

/// <summary>Reads in which languages a machine file has its texts, and texts in all of them.</summary>
internal sealed class LanguagesReader(FileErrors errors)
{
    private const int Most = 16;
    private const string Member = "texts";

    private readonly List<string> _tags = [];

    /// <summary>The languages as far as they could be read.</summary>
    public LanguageList Languages => _tags.Count == 0 ? LanguageList.Default : new LanguageList(_tags);

    /// <summary>Reads <c>languages</c>; once, before any text.</summary>
    public void Read(ObjectReader machine)
    {
        var once = new UsedOnce<string>(errors);
        foreach (var node in machine.Items("languages"))
        {
            if (Values.Text(node, errors) is { } tag && IsTag(node.Offset, node.Path, tag))
            {
                once.Note(tag.ToLowerInvariant(), node, line => $"{Show.Quoted(tag)} is listed twice; first in line {line}");
                if (!_tags.Contains(tag, StringComparer.OrdinalIgnoreCase))
                {
                    _tags.Add(tag);
                }
            }
        }

        if (machine.Find("languages") is { Kind: NodeKind.Array } list && list.Items.Count is 0 or > Most)
        {
            errors.Add(machine.Find("languages")!, $"1 to {Most} languages are expected, found {list.Items.Count}; the first is that of the plain members");
        }
    }

    /// <summary>A text in every language: the plain one of the first, then those of <c>texts</c>.</summary>
    /// <typeparam name="T">What there is in each language.</typeparam>
    /// <param name="owner">The object with <c>texts</c>.</param>
    /// <param name="plain">What its plain members say.</param>
    /// <param name="read">Reads one of the others; null with an error told.</param>
    public IReadOnlyList<T> ReadTexts<T>(ObjectReader owner, T plain, Func<Node, T?> read)
        where T : class
    {
        var texts = new T[Math.Max(1, _tags.Count)];
        Array.Fill(texts, plain);
        var found = new Dictionary<int, Node>();
        foreach (var entry in owner.Entries(Member))
        {
            if (read(entry.Value) is { } text && IndexOf(entry, found) is { } index)
            {
                texts[index] = text;
            }
        }

        for (var index = 1; index < _tags.Count; index++)
        {
            if (!found.ContainsKey(index))
            {
                owner.Refuse($"{Member}.{_tags[index]}", $"is missing: the file's languages are {Show.List(_tags)}");
            }
        }

        return texts;
    }

    private int? IndexOf(Member entry, Dictionary<int, Node> found)
    {
        var (name, at) = (entry.Name, entry.Value);
        var index = _tags.FindIndex(tag => string.Equals(tag, name, StringComparison.OrdinalIgnoreCase));
        if (index < 0)
        {
            if (IsTag(entry.NameOffset, at.Path, name))
            {
                errors.Add(entry.NameOffset, at.Path, _tags.Count == 0
                    ? "the file names no languages; give \"languages\", the first that of the plain members"
                    : $"{Show.Quoted(name)} is none of the file's languages {Show.List(_tags)}{(Nearest.Find(name, _tags) is { } near ? $"; did you mean {Show.Quoted(near)}?" : "")}");
            }

            return null;
        }

        if (index == 0)
        {
            errors.Add(entry.NameOffset, at.Path, $"{Show.Quoted(name)} is the language of the plain members; take it out here");
            return null;
        }

        if (!found.TryAdd(index, at))
        {
            errors.Add(entry.NameOffset, at.Path, $"{Show.Quoted(name)} appears twice; first in line {errors.LineOf(found[index])}");
            return null;
        }

        return index;
    }

    private bool IsTag(int offset, string path, string tag)
    {
        if (!LanguageTag.IsWellFormed(tag))
        {
            errors.Add(offset, path, $"{Show.Quoted(tag)} is no language tag (BCP 47); such as \"en\", \"de\" or \"pt-BR\" is expected");
            return false;
        }

        if (!LanguageTag.IsKnown(tag))
        {
            errors.Add(offset, path, $"{Show.Quoted(tag)} begins with the code of no language (ISO 639-1); countries have others, Danish is \"da\", Japanese \"ja\"");
            return false;
        }

        return true;
    }
}

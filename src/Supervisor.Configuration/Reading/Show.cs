using System.Globalization;
using System.Text;

namespace Supervisor.Configuration.Reading;

/// <summary>Values as messages show them: always on one line, never long.</summary>
internal static class Show
{
    private const int Longest = 60;

    /// <summary>A text in quotes, control characters escaped.</summary>
    public static string Quoted(string text) => $"\"{Escaped(Cut(text))}\"";

    /// <summary>A path in quotes, whole: its end is what tells files apart.</summary>
    public static string Path(string path) => $"\"{Escaped(path)}\"";

    /// <summary>A foreign text with line breaks and other control characters taken out.</summary>
    public static string OneLine(string text) => Escaped(text.ReplaceLineEndings(" ").Trim());

    /// <summary>Names in quotes, separated by commas.</summary>
    public static string List(IEnumerable<string> names) => string.Join(", ", names.Select(Quoted));

    /// <summary>True for characters that would break a line, hide or reorder what is printed.</summary>
    public static bool IsInvisible(char c) =>
        char.IsControl(c)
        || char.GetUnicodeCategory(c) is UnicodeCategory.Format or UnicodeCategory.LineSeparator or UnicodeCategory.ParagraphSeparator;

    /// <summary>A number as the file has it.</summary>
    public static string Digits(string text) => Cut(text);

    public static string Number(double value) => value.ToString(CultureInfo.InvariantCulture);

    private static string Cut(string text)
    {
        if (text.Length <= Longest)
        {
            return text;
        }

        var end = char.IsHighSurrogate(text[Longest - 1]) ? Longest - 1 : Longest;
        return text[..end] + "…";
    }

    private static string Escaped(string text)
    {
        var shown = new StringBuilder(text.Length);
        foreach (var c in text)
        {
            if (IsInvisible(c))
            {
                shown.Append(CultureInfo.InvariantCulture, $"\\u{(int)c:x4}");
            }
            else
            {
                shown.Append(c);
            }
        }

        return shown.ToString();
    }
}

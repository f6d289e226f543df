using System.Globalization;
using System.Text;
using Supervisor.Daemon.Services;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Verbs;

/// <summary>The catalogue of faults: a table with what to do below each line, for a person; or everything, for programs.</summary>
public static class FaultCatalogueText
{
    /// <summary>Widest line; a terminal of a service laptop shows it without breaking.</summary>
    public const int Width = 100;

    private static readonly CompositeFormat Row = CompositeFormat.Parse("{0,-5}{1,-34}{2,-13}{3,-10}{4}");
    private const int Indent = 4;
    private const int Label = 8;

    private static IEnumerable<FaultEntry> Entries => FaultCatalogue.Entries.Where(entry => entry.Code != FaultCode.None);

    /// <summary>Writes the table.</summary>
    public static void Print(TextWriter to)
    {
        ArgumentNullException.ThrowIfNull(to);
        to.WriteLine("Every fault the supervisor can name. What it stops is no safety function.");
        to.WriteLine();
        to.WriteLine(string.Format(CultureInfo.InvariantCulture, Row, "no.", "fault", "class", "priority", "when"));
        foreach (var entry in Entries)
        {
            to.WriteLine(string.Format(
                CultureInfo.InvariantCulture, Row, (ushort)entry.Code, entry.Name, Word(entry.Class), Word(entry.Priority), When(entry.Urgency)));
            Paragraph(to, "what", entry.Meaning);
            Paragraph(to, "stops", entry.Consequence);
            Paragraph(to, "causes", string.Join("; ", entry.Causes));
            Paragraph(to, "do", entry.Remedy);
        }
    }

    /// <summary>The catalogue for programs.</summary>
    public static CatalogueJson ToJson() => new([.. Entries.Select(entry => new CatalogueEntryJson(
        (ushort)entry.Code, ApiErrors.ReasonOf(entry.Code), entry.Name, Word(entry.Class), Word(entry.Priority), entry.Causes, entry.Consequence,
        Word(entry.Reaction.Axis), Word(entry.Reaction.Group), entry.Meaning, entry.Remedy, Word(entry.Urgency), entry.MayRecover))]);

    private static void Paragraph(TextWriter to, string label, string text)
    {
        var line = new StringBuilder().Append(' ', Indent).Append(label.PadRight(Label));
        var isEmpty = true;
        foreach (var word in text.Split(' '))
        {
            if (!isEmpty && line.Length + 1 + word.Length > Width)
            {
                to.WriteLine(line.ToString());
                line.Clear().Append(' ', Indent + Label);
                isEmpty = true;
            }

            line.Append(isEmpty ? "" : " ").Append(word);
            isEmpty = false;
        }

        to.WriteLine(line.ToString());
    }

    private static string When(FaultUrgency urgency) => urgency == FaultUrgency.ThisShift ? "this shift" : Word(urgency);

    private static string Word<T>(T value)
        where T : struct, Enum
    {
        var name = value.ToString();
        return char.ToLowerInvariant(name[0]) + name[1..];
    }
}

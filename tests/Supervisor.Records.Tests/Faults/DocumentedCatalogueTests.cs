using System.Globalization;
using System.Text;
using Supervisor.Records.Faults;
using Supervisor.Tests.Support;

namespace Supervisor.Records.Tests.Faults;

/// <summary>The table of faults that developers and integrators read is made from the catalogue.</summary>
public sealed class DocumentedCatalogueTests
{
    [Fact]
    public void Developers_TableOfFaults_IsTheCatalogue() =>
        GeneratedSection.Check("DEVELOPERS.md", "fault table", Table(), "Supervisor.Records.Tests");

    private static string Table()
    {
        var text = new StringBuilder();
        text.AppendLine("| no. | fault | class | priority | axis | group | likely causes | what to do | when |");
        text.AppendLine("|---|---|---|---|---|---|---|---|---|");
        foreach (var entry in FaultCatalogue.Entries.Where(entry => entry.Code != FaultCode.None))
        {
            text.AppendLine(
                CultureInfo.InvariantCulture,
                $"| {(ushort)entry.Code} | {entry.Name} | {Word(entry.Class)} | {Word(entry.Priority)} | {Stop(entry, of => of.Axis)} | {Stop(entry, of => of.Group)} | {string.Join("; ", entry.Causes)} | {entry.Remedy} | {When(entry.Urgency)} |");
        }

        return text.ToString().ReplaceLineEndings("\n");
    }

    private static string Stop(FaultEntry entry, Func<FaultReaction, StopReaction> whose) =>
        FaultReaction.Words(whose(entry.Reaction))
        + (entry.AsFailedCommand is { } instead ? $"; as a failed command: {FaultReaction.Words(whose(instead))}" : "");

    private static string Word<T>(T value)
        where T : struct, Enum
    {
        var name = value.ToString();
        return char.ToLowerInvariant(name[0]) + name[1..];
    }

    private static string When(FaultUrgency urgency) => urgency switch
    {
        FaultUrgency.ThisShift => "this shift",
        _ => Word(urgency),
    };
}

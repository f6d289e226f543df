using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Watching;

/// <summary>What devices tell of themselves, held against what their definitions accept, in words.</summary>
public static class IdentityTexts
{
    /// <summary>What a fault tells of the identity of its drive or module; empty for nothing.</summary>
    public static string Of(MachineDefinition machine, in FaultEvent fault)
    {
        ArgumentNullException.ThrowIfNull(machine);
        return Of(
            fault.Axis >= 0 ? machine.Axes[fault.Axis].Drive.Identification : fault.Module >= 0 ? machine.Modules[fault.Module].Identification : null,
            fault.Identity);
    }

    /// <summary>A difference as one clause with what was found and what is accepted; empty for none.</summary>
    public static string Of(IdentificationDefinition? wanted, in IdentityDifference difference)
    {
        if (wanted is null || difference.Object == IdentityObject.None)
        {
            return "";
        }

        if (difference.Object == IdentityObject.All)
        {
            return $"it does not tell what it is (function 43 is refused); {Accepted(wanted)} is accepted";
        }

        var (word, accepted) = difference.Object switch
        {
            IdentityObject.Vendor => ("vendor", One(wanted.Vendor)),
            IdentityObject.Product => ("product", One(wanted.Product)),
            _ => ("revision", wanted.Revisions),
        };
        var found = difference.Found.ToString();
        return Of(word, found.Length == 0 ? null : found.Length < ShortText.Most ? found : $"{found}…", accepted);
    }

    /// <summary>One object that differs: what was found, null where it is not told, and what is accepted.</summary>
    public static string Of(string word, string? found, IReadOnlyList<string> accepted) =>
        $"its {word} is {(found is null ? "not told" : $"\"{found}\"")}; {Or(accepted)} is accepted";

    /// <summary>All that is accepted, in a line; "any" where nothing is compared.</summary>
    public static string Accepted(IdentificationDefinition wanted)
    {
        ArgumentNullException.ThrowIfNull(wanted);
        var parts = new[] { ("vendor", One(wanted.Vendor)), ("product", One(wanted.Product)), ("revision", wanted.Revisions) }
            .Where(part => part.Item2.Count > 0).Select(part => $"{part.Item1} {Or(part.Item2)}").ToArray();
        return parts.Length == 0 ? "any that tells it" : string.Join(", ", parts);
    }

    private static IReadOnlyList<string> One(string? text) => text is null ? [] : [text];

    private static string Or(IReadOnlyList<string> texts) => string.Join(" or ", texts.Select(each => $"\"{each}\""));
}

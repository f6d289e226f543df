using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Verbs.Lines;
using Supervisor.Machine.Watching;

namespace Supervisor.Daemon.Verbs.Diagnose;

/// <summary>What a device tells of itself, held against what its definition accepts.</summary>
internal static class IdentificationDiagnosis
{
    /// <summary>Asks it; no finding where its definition does not have it asked.</summary>
    /// <param name="wanted">What the definition accepts; null: it is not asked.</param>
    /// <param name="line">The line.</param>
    /// <param name="port">The port as the machine file has it.</param>
    /// <param name="address">The device.</param>
    /// <param name="turnaround">Time it needs before it answers.</param>
    public static Finding? Look(IdentificationDefinition? wanted, LineReader line, PortDefinition port, byte address, TimeSpan turnaround)
    {
        if (wanted is null)
        {
            return null;
        }

        var told = line.Identify(address, turnaround);
        if (told.State == IdentificationState.NotServed)
        {
            return Finding.Wrong("does not tell what it is (function 43 is refused), but its identification is asked for", "take identification out, or look whether it is the device that is meant");
        }

        if (told.State != IdentificationState.Complete)
        {
            return Trouble.Of(line, port, "its identification (function 43)", "the definition's identification");
        }

        return Difference(wanted, told) is { } difference
            ? Finding.Wrong(difference, "put the right device in; if this one is known to be the same to the machine, add it to the identification")
            : Finding.Good(ScanText.Of(told));
    }

    private static string? Difference(IdentificationDefinition wanted, IdentificationReading told)
    {
        string[] vendors = wanted.Vendor is { } vendor ? [vendor] : [];
        string[] products = wanted.Product is { } product ? [product] : [];
        foreach (var (id, word, accepted) in ((byte, string, IReadOnlyList<string>)[])
            [(DeviceIdentification.VendorName, "vendor", vendors), (DeviceIdentification.ProductCode, "product", products), (DeviceIdentification.Revision, "revision", wanted.Revisions)])
        {
            if (accepted.Count > 0 && !accepted.Contains(told.Text(id)))
            {
                return IdentityTexts.Of(word, told.Has(id) ? told.Text(id) : null, accepted);
            }
        }

        return null;
    }
}

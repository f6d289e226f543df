using System.CommandLine;
using System.CommandLine.Parsing;
using System.Globalization;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Verbs;

/// <summary><c>faults [--json] [--limit N] [--axis A]</c>, and <c>faults --catalogue [--json]</c>, which needs no daemon.</summary>
internal static class FaultsVerb
{
    private const int DefaultLimit = 50;
    private const int MostListed = 1_000_000;
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(10);

    public static Command Build()
    {
        var limit = Numbers.Integer("--limit", "N", "Most faults to list.", 1, MostListed, DefaultLimit);
        var axis = new Option<string?>("--axis") { Description = "Only faults of this axis.", HelpName = "AXIS" };
        var catalogue = new Option<bool>("--catalogue") { Description = "List every fault there can be, with what to do; needs no daemon." };
        var json = ClientOptions.Json();
        var server = ClientOptions.Server();
        var verb = new Command("faults", "List recorded faults and what was done by itself about them, newest first.") { limit, axis, catalogue, json, server };
        verb.Check(result =>
        {
            if (result.GetValue(catalogue) && (Given(result, limit) || Given(result, axis) || Given(result, server)))
            {
                result.AddError("--catalogue lists every fault there can be: it goes with --json alone");
            }
        });
        verb.SetAction((parsed, cancellation) => parsed.GetValue(catalogue)
            ? Task.FromResult(PrintCatalogue(parsed.GetValue(json)))
            : Terminal.WithDaemonAsync(
                parsed.GetValue(server),
                async (daemon, ends) =>
                {
                    var faults = await ListAsync(daemon, parsed.GetValue(axis) ?? "", parsed.GetValue(limit), ends);
                    var recoveries = await RecoveryListing.ReadAsync(daemon, parsed.GetValue(axis) ?? "", faults, parsed.GetValue(limit), ends);
                    if (parsed.GetValue(json))
                    {
                        JsonOut.Print(new FaultsJson([.. faults.Select(ToJson)], [.. recoveries.Select(RecoveryListing.ToJson)]), JsonShapes.Readable.FaultsJson);
                    }
                    else
                    {
                        Print(faults, recoveries);
                    }

                    return ExitCode.Done;
                },
                cancellation));
        return verb;
    }

    private static bool Given(SymbolResult result, Option option) => result.GetResult(option) is { Implicit: false };

    private static int PrintCatalogue(bool json)
    {
        if (json)
        {
            JsonOut.Print(FaultCatalogueText.ToJson(), JsonShapes.Readable.CatalogueJson);
        }
        else
        {
            FaultCatalogueText.Print(Console.Out);
        }

        return ExitCode.Done;
    }

    private static async Task<IReadOnlyList<FaultRecord>> ListAsync(DaemonConnection daemon, string axis, int limit, CancellationToken cancellation)
    {
        var faults = new List<FaultRecord>();
        var token = "";
        do
        {
            var request = new ListFaultsRequest { Axis = axis, PageSize = limit - faults.Count, PageToken = token };
            var page = await daemon.History.ListFaultsAsync(request, deadline: DateTime.UtcNow + Patience, cancellationToken: cancellation);
            faults.AddRange(page.Faults);
            token = page.NextPageToken;
        }
        while (token.Length > 0 && faults.Count < limit);
        return faults;
    }

    /// <summary>What was done about a fault stands above it, as it came later.</summary>
    private static void Print(IReadOnlyList<FaultRecord> faults, IReadOnlyList<RecoveryRecord> recoveries)
    {
        if (faults.Count == 0)
        {
            Console.Out.WriteLine("no faults recorded");
        }

        var next = 0;
        foreach (var fault in faults)
        {
            for (; next < recoveries.Count && recoveries[next].Sequence > fault.Sequence; next++)
            {
                Console.Out.WriteLine(RecoveryListing.Line(recoveries[next]));
            }

            Console.Out.WriteLine($"{Text.Time(fault.Time, fault.TimeTrusted)}  {Where(fault)}: {Text.Words(fault.Fault)}{Details(fault)}");
            Console.Out.WriteLine(fault.ConsequenceOf.Length > 0
                ? $"    A consequence of {fault.ConsequenceOf}: its hardware took the power. Look for why that opened, then reset the axis."
                : $"    {fault.Meaning} {fault.Remedy}");
        }
    }

    private static string Where(FaultRecord fault) =>
        fault.Axis.Length > 0 ? fault.Axis : fault.Interlock.Length > 0 ? fault.Interlock : fault.Port.Length > 0 ? fault.Port : "supervisor";

    private static string Details(FaultRecord fault)
    {
        var parts = new List<string>();
        if (fault.Note.Length > 0)
        {
            parts.Add(fault.Note);
        }

        if (fault.DriveCode != 0)
        {
            parts.Add($"drive code {fault.DriveCode:X4}h");
        }

        if (fault.Axis.Length > 0)
        {
            parts.Add($"was {Text.Of(fault.State)}");
        }

        if (fault.HasPosition)
        {
            parts.Add($"at {Text.Of(fault.Position)} {fault.Unit}".TrimEnd());
        }

        return parts.Count > 0 ? $" ({string.Join(", ", parts)})" : "";
    }

    private static FaultJson ToJson(FaultRecord fault) => new(
        fault.Sequence, fault.Time.ToDateTime().ToString("O", CultureInfo.InvariantCulture), fault.TimeTrusted, NotEmpty(fault.Axis), NotEmpty(fault.Port),
        NotEmpty(fault.Interlock), fault.Fault, (int)fault.DriveCode, Text.Of(fault.State), fault.HasPosition ? fault.Position : null, NotEmpty(fault.Unit),
        fault.CommandId, fault.Meaning, fault.Remedy, fault.Warning, NotEmpty(fault.Note), NotEmpty(fault.ConsequenceOf));

    private static string? NotEmpty(string text) => text.Length > 0 ? text : null;
}

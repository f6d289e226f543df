using System.CommandLine;
using System.CommandLine.Parsing;
using System.Globalization;
using Google.Protobuf.WellKnownTypes;
using Supervisor.Api.V1;
using Supervisor.Daemon.Services;
using Supervisor.Records.Faults;
using Option = System.CommandLine.Option;

namespace Supervisor.Daemon.Verbs.History;

/// <summary>Options that say which records are meant.</summary>
internal sealed class FilterOptions
{
    private readonly Option<string?> _axis = new("--axis") { Description = "Only of this axis.", HelpName = "AXIS" };
    private readonly Option<string?> _code = new("--code") { Description = "Only of this fault: its name or its number.", HelpName = "FAULT" };
    private readonly Option<string?> _class = new("--class") { Description = "Only faults of this class, such as link.", HelpName = "CLASS" };
    private readonly Option<string?> _text = new("--text") { Description = "Only with this text in a name, a message, a command or who gave it.", HelpName = "TEXT" };
    private readonly Option<Timestamp?> _since = TimeOption.Build("--since", "From then on");
    private readonly Option<Timestamp?> _until = TimeOption.Build("--until", "Before then");

    public FilterOptions(Command verb)
    {
        foreach (var option in (Option[])[_since, _until, _axis, _code, _class, _text])
        {
            verb.Options.Add(option);
        }
    }

    public RecordFilter Read(ParseResult parsed) => new()
    {
        Axis = parsed.GetValue(_axis) ?? "",
        Fault = Reason(parsed.GetValue(_code) ?? ""),
        FaultClass = parsed.GetValue(_class) ?? "",
        Text = parsed.GetValue(_text) ?? "",
        Since = parsed.GetValue(_since),
        Until = parsed.GetValue(_until),
    };

    /// <summary>True when one of them was given.</summary>
    public bool IsGiven(SymbolResult result) =>
        ((Option[])[_since, _until, _axis, _code, _class, _text]).Any(option => result.GetResult(option) is { Implicit: false });

    /// <summary>A fault as people write it, as the API's reason.</summary>
    private static string Reason(string text)
    {
        if (ushort.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out var number))
        {
            return ApiErrors.ReasonOf((FaultCode)number);
        }

        var named = FaultCatalogue.Entries.FirstOrDefault(entry => string.Equals(entry.Name, text, StringComparison.OrdinalIgnoreCase));
        return named is not null ? ApiErrors.ReasonOf(named.Code) : text.Replace(' ', '_').Replace('-', '_').ToUpperInvariant();
    }
}

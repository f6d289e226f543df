using System.Globalization;
using Supervisor.Api.V1;

namespace Supervisor.Daemon.Verbs.History;

/// <summary>Records as comma-separated values after RFC 4180: a header, CRLF behind every line, quotes where they are needed.</summary>
internal static class HistoryCsv
{
    private static readonly (string Name, Func<HistoryJsonRecord, object?> Value)[] Columns =
    [
        ("sequence", r => r.Sequence), ("time", r => r.Time), ("timeQuality", r => r.TimeQuality), ("sinceBootS", r => r.SinceBootS), ("boot", r => r.Boot), ("kind", r => r.Kind),
        ("axis", r => r.Axis), ("port", r => r.Port), ("interlock", r => r.Interlock), ("text", r => r.Text), ("fault", r => r.Fault), ("class", r => r.Class),
        ("driveCode", r => r.DriveCode), ("state", r => r.State), ("position", r => r.Position), ("unit", r => r.Unit), ("commandId", r => r.CommandId), ("command", r => r.Command),
        ("holder", r => r.Holder), ("outcome", r => r.Outcome), ("incident", r => r.Incident), ("relation", r => r.Relation), ("follows", r => r.Follows), ("count", r => r.Count),
        ("lastSinceBootS", r => r.LastSinceBootS),
    ];

    public static void WriteHeader(TextWriter to) => Write(to, Columns.Select(column => (object?)column.Name));

    public static void Write(TextWriter to, HistoryRecord record)
    {
        var shape = HistoryJsonRecord.From(record);
        Write(to, Columns.Select(column => column.Value(shape)));
    }

    /// <summary>One line of values.</summary>
    public static void Write(TextWriter to, IEnumerable<object?> values) =>
        to.Write(string.Join(',', values.Select(value => Field(Convert.ToString(value, CultureInfo.InvariantCulture) ?? ""))) + "\r\n");

    // Section 2, rules 5 to 7.
    private static string Field(string text) =>
        text.AsSpan().ContainsAny("\",\r\n") ? $"\"{text.Replace("\"", "\"\"", StringComparison.Ordinal)}\"" : text;
}

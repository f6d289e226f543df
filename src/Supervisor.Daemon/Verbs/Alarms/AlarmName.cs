using System.Globalization;
using Supervisor.Api.V1;

namespace Supervisor.Daemon.Verbs.Alarms;

/// <summary>Alarms as people write them: <c>NUMBER</c>, <c>NAME</c> or <c>NUMBER:NAME</c>.</summary>
internal static class AlarmName
{
    public static AlarmChoice Choice(string text)
    {
        var (number, source) = Split(text);
        return new AlarmChoice { Number = number, Source = source };
    }

    /// <summary>The key; its number is 0 where the text has none.</summary>
    public static AlarmKey Key(string text)
    {
        var (number, source) = Split(text);
        return new AlarmKey { Number = number, Source = source };
    }

    private static (int Number, string Source) Split(string text)
    {
        var colon = text.IndexOf(':', StringComparison.Ordinal);
        var before = colon < 0 ? text : text[..colon];
        return int.TryParse(before, NumberStyles.None, CultureInfo.InvariantCulture, out var number)
            ? (number, colon < 0 ? "" : text[(colon + 1)..])
            : (0, text);
    }
}

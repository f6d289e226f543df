using System.CommandLine;
using System.Globalization;
using Google.Protobuf.WellKnownTypes;

namespace Supervisor.Daemon.Verbs.History;

/// <summary>A time on a command line: so long ago, or a day and a time of it.</summary>
internal static class TimeOption
{
    private static readonly string[] Formats =
        [.. from day in (string[])["yyyy-MM-dd"] from time in (string[])["", "'T'HH:mm", "' 'HH:mm", "'T'HH:mm:ss.FFF", "' 'HH:mm:ss.FFF"] from zone in (string[])["", "zzz", "' 'zzz", "'Z'"] select day + time + zone];

    public static Option<Timestamp?> Build(string name, string description)
    {
        return new Option<Timestamp?>(name)
        {
            Description = $"{description}: so long ago (90s, 30m, 2h, 3d, 1w), or a time such as 2031-05-06T03:00+02:00; without a zone, this computer's.",
            HelpName = "TIME",
            CustomParser = result =>
            {
                if (TryParse(result.Tokens[0].Value, DateTimeOffset.UtcNow, TimeZoneInfo.Local, out var time))
                {
                    return Timestamp.FromDateTimeOffset(time);
                }

                result.AddError($"{name} must be so long ago, such as 2h or 3d, or a time such as 2031-05-06T03:00+02:00, not '{result.Tokens[0].Value}'");
                return null;
            },
        };
    }

    /// <summary>Reads a time; false when it says none.</summary>
    public static bool TryParse(string text, DateTimeOffset now, TimeZoneInfo here, out DateTimeOffset time)
    {
        if (TryDuration(text, out var ago))
        {
            var isInReach = ago.Ticks <= now.UtcTicks - DateTimeOffset.UnixEpoch.UtcTicks;
            time = isInReach ? now - ago : DateTimeOffset.UnixEpoch;
            return true;
        }

        if (!DateTimeOffset.TryParseExact(text, Formats, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal, out time))
        {
            return false;
        }

        if (!HasZone(text))
        {
            var local = DateTime.SpecifyKind(time.DateTime, DateTimeKind.Unspecified);
            time = new DateTimeOffset(local, here.GetUtcOffset(local));
        }

        return true;
    }

    // Behind the day, only a zone has a sign or a Z.
    private static bool HasZone(string text) => text.Length > 10 && text[10..].AsSpan().ContainsAny('Z', '+', '-');

    /// <summary>Reads a length of time such as 30m or 2h; false when it says none.</summary>
    public static bool TryDuration(string text, out TimeSpan ago)
    {
        ago = TimeSpan.Zero;
        double seconds = text.Length < 2 ? 0 : text[^1] switch
        {
            's' => 1,
            'm' => 60,
            'h' => 3_600,
            'd' => 86_400,
            'w' => 604_800,
            _ => 0,
        };
        if (seconds == 0 || !double.TryParse(text[..^1], NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out var number))
        {
            return false;
        }

        ago = TimeSpan.FromSeconds(Math.Min(number * seconds, TimeSpan.FromDays(100_000).TotalSeconds));
        return true;
    }
}

using System.Globalization;
using Supervisor.History.Entries;
using Supervisor.Records.Alarms;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Services;

/// <summary>What happened to an alarm, for a person.</summary>
internal static class AlarmText
{
    public static string Of(AlarmRecord record)
    {
        var what = record.Number >= AlarmKey.FirstOwn ? $"alarm {record.Number}" : $"alarm {record.Number} ({FaultCatalogue.Entry((FaultCode)record.Number).Name})";
        var place = record.SourceKind is AlarmSourceKind.Module or AlarmSourceKind.Output ? $" of {record.Source}" : "";
        var text = record.Text.Length > 0 ? $": {record.Text}" : "";
        var by = record.By.Length > 0 ? $" by {record.By}" : "";
        return $"{what}{place} " + record.Change switch
        {
            AlarmChange.Raised => $"raised{text}",
            AlarmChange.Cleared => $"cleared{text}",
            AlarmChange.Acknowledged => $"acknowledged{by}",
            AlarmChange.OutOfService => $"taken out of service for {Duration(record.For ?? TimeSpan.Zero)}{by}{text}",
            AlarmChange.BackInService => $"put back into service{by}",
            AlarmChange.BackByItself => "is back in service, as its time is over",
            _ => "changed",
        };
    }

    /// <summary>A duration in hours and minutes; below a minute in seconds.</summary>
    public static string Duration(TimeSpan time)
    {
        if (time < TimeSpan.FromMinutes(1))
        {
            return string.Create(CultureInfo.InvariantCulture, $"{Math.Ceiling(time.TotalSeconds):0} s");
        }

        var minutes = (long)Math.Ceiling(time.TotalMinutes);
        return (minutes / 60, minutes % 60) switch
        {
            (0, var left) => $"{left} min",
            (var hours, 0) => $"{hours} h",
            var (hours, left) => $"{hours} h {left} min",
        };
    }
}

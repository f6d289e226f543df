using System.Globalization;
using Supervisor.Api.V1;
using Supervisor.Daemon.Services;
using Supervisor.Records;

namespace Supervisor.Daemon.Verbs.Alarms;

/// <summary>Alarms as lines for a person.</summary>
internal static class AlarmLines
{
    public static void Print(IReadOnlyList<Alarm> alarms, long notKept, TextWriter to)
    {
        if (alarms.Count == 0)
        {
            to.WriteLine("no alarms");
        }

        foreach (var alarm in alarms)
        {
            to.WriteLine(Line(alarm));
            if (IsCalling(alarm) && alarm.Remedy.Length > 0)
            {
                to.WriteLine($"    {alarm.Remedy}");
            }
        }

        if (notKept > 0)
        {
            to.WriteLine($"{Counted.Of(notKept, "alarm")} could not be listed, because too many were: the history has them");
        }
    }

    /// <summary>What it is and about what, how urgent, where it stands, since when.</summary>
    public static string Line(Alarm alarm)
    {
        var place = alarm.Key.Source.Length > 0 ? $"{alarm.Key.Source}: " : "";
        var parts = new List<string> { $"{place}{alarm.Name} ({alarm.Key.Number})" };
        Add(alarm.Priority != AlarmPriority.Unspecified, alarm.Priority.ToString().ToLowerInvariant());
        Add(true, State(alarm));
        Add(alarm.OutOfService is null && alarm.State != AlarmState.Normal, $"since {Text.Time(alarm.Since, alarm.TimeTrusted)}");
        Add(alarm.Detail.Length > 0, alarm.Detail);
        Add(alarm.Occurrences > 1, $"told {alarm.Occurrences} times");
        Add(alarm.Chattering, "chattering");
        Add(alarm.Stale, "stale");
        return string.Join(", ", parts);

        void Add(bool wanted, string text)
        {
            if (wanted)
            {
                parts.Add(text);
            }
        }
    }

    /// <summary>What nobody has acknowledged before what somebody has, what is out of service last; by priority; the newest first.</summary>
    public static int Gravest(Alarm one, Alarm other)
    {
        var order = Rank(one).CompareTo(Rank(other));
        order = order != 0 ? order : other.Priority.CompareTo(one.Priority);
        return order != 0 ? order : other.Occurrence.CompareTo(one.Occurrence);
    }

    private static int Rank(Alarm alarm) => alarm.State switch
    {
        AlarmState.UnacknowledgedActive or AlarmState.LatchedUnacknowledged => 0,
        AlarmState.ReturnedUnacknowledged => 1,
        AlarmState.AcknowledgedActive or AlarmState.LatchedAcknowledged => 2,
        AlarmState.Normal => 3,
        _ => 4,
    };

    private static bool IsCalling(Alarm alarm) => alarm.State is not (AlarmState.Normal or AlarmState.ReturnedUnacknowledged) && alarm.OutOfService is null;

    private static string State(Alarm alarm) => alarm.State switch
    {
        AlarmState.UnacknowledgedActive => "active, not acknowledged",
        AlarmState.AcknowledgedActive => $"active, {Known(alarm)}",
        AlarmState.ReturnedUnacknowledged => "gone, not acknowledged",
        AlarmState.LatchedUnacknowledged => "its cause is gone, waits for its reset, not acknowledged",
        AlarmState.LatchedAcknowledged => $"its cause is gone, waits for its reset, {Known(alarm)}",
        AlarmState.ShelvedNormal => $"{Shelf(alarm)}; nothing is wrong now",
        AlarmState.ShelvedActive => $"{Shelf(alarm)}; it stands",
        AlarmState.ShelvedLatched => $"{Shelf(alarm)}; it waits for its reset",
        _ => "over",
    };

    private static string Known(Alarm alarm) => alarm.Acknowledgement is { } known ? $"acknowledged by {known.By} at {Text.Time(known.Time, alarm.TimeTrusted)}" : "acknowledged";

    private static string Shelf(Alarm alarm) => alarm.OutOfService is { } shelf
        ? string.Create(CultureInfo.InvariantCulture, $"out of service for {AlarmText.Duration(TimeSpan.FromSeconds(shelf.RemainingS))} more by {shelf.By} ({shelf.Reason})")
        : "out of service";
}

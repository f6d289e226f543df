using System.Globalization;
using Google.Protobuf.Collections;
using Google.Protobuf.WellKnownTypes;
using Supervisor.Api.V1;

namespace Supervisor.Daemon.Verbs.History;

/// <summary>Statistics for a person: plain tables.</summary>
internal static class StatisticsText
{
    private const int Longest = 10;

    public static void Print(GetStatisticsResponse told, string axis, TextWriter to)
    {
        to.WriteLine($"{(axis.Length > 0 ? axis : "The machine")} from {Day(told.Since)} to {Day(told.Until)}");
        to.WriteLine();
        PrintDependability(told, to);
        PrintPareto("Faults, how often", told.FaultsByCount, line => Number(line.Value), Verbs.Text.Words, to);
        PrintPareto("Faults, down time by what came first", told.FaultsByDownTime, Seconds, Verbs.Text.Words, to);
        PrintPareto("Axes, how often", told.AxesByCount, line => Number(line.Value), name => name, to);
        PrintPareto("Axes, time out", told.AxesByDownTime, Seconds, name => name, to);
        PrintAlarms(told.Alarms, to);
        PrintStops(told.Stops, to);
    }

    /// <summary>A duration with the two units that matter.</summary>
    public static string Span(TimeSpan time) => time switch
    {
        { TotalDays: >= 1 } => $"{(int)time.TotalDays} d {time.Hours} h",
        { TotalHours: >= 1 } => $"{time.Hours} h {time.Minutes} min",
        { TotalMinutes: >= 1 } => $"{time.Minutes} min {time.Seconds} s",
        _ => time.TotalSeconds.ToString("0.0 s", CultureInfo.InvariantCulture),
    };

    private static void PrintDependability(GetStatisticsResponse told, TextWriter to)
    {
        var of = told.Dependability;
        Row("incidents", Number(told.Incidents), to);
        Row("faults", $"{Number(told.Faults)}, and {Number(told.Warnings)} {(told.Warnings == 1 ? "warning" : "warnings")}", to);
        Row("up", Span(of.Up.ToTimeSpan()) + (of.HasUpShare ? $", {Percent(of.UpShare)} of up and down" : ""), to);
        Row("down", Span(of.Down.ToTimeSpan()) + (of.IsDown ? ", and down at the end" : ""), to);
        Row("not running", Span(told.NotRunning.ToTimeSpan()), to);
        Row("not known", Span(told.NotKnown.ToTimeSpan()), to);
        Row("failures", Number(of.Failures), to);
        Row("repairs", Number(of.Repairs), to);
        Row("mean time between failures", of.MeanTimeBetweenFailures is { } between ? Span(between.ToTimeSpan()) : "no failure", to);
        Row("mean time to repair", of.MeanTimeToRepair is { } repair ? Span(repair.ToTimeSpan()) : "no repair", to);
        Row("availability", of.HasAvailability ? Percent(of.Availability) : "not known: it needs a failure and a repair", to);
        if (told.UndatedRecords > 0)
        {
            to.WriteLine($"  {Number(told.UndatedRecords)} records and {Span(told.Undated.ToTimeSpan())} are left out: the board's clock had not been set, and nothing told later when that was.");
        }
    }

    private static void PrintPareto(string title, RepeatedField<ParetoLine> lines, Func<ParetoLine, string> value, Func<string, string> name, TextWriter to)
    {
        if (lines.Count == 0)
        {
            return;
        }

        to.WriteLine();
        to.WriteLine(title);
        foreach (var line in lines.Take(Longest))
        {
            to.WriteLine($"  {name(line.Name),-36} {value(line),12} {Percent(line.Share),8}  together {Percent(line.CumulativeShare),8}");
        }

        if (lines.Count > Longest)
        {
            to.WriteLine($"  and {lines.Count - Longest} more: --json lists all");
        }
    }

    private static void PrintAlarms(AlarmStatistics alarms, TextWriter to)
    {
        to.WriteLine();
        to.WriteLine("Alarms");
        Row("in all", Number(alarms.Alarms), to);
        Row("in 10 minutes, on average", alarms.HasPerTenMinutes ? $"{alarms.PerTenMinutes.ToString("0.###", CultureInfo.InvariantCulture)} (about 1 is acceptable)" : "nothing ran", to);
        Row("in 10 minutes, at most", Number(alarms.Peak) + (alarms.PeakAt is { } at ? $" at {Day(at)}" : ""), to);
        Row("floods", alarms.Floods == 0 ? "none" : $"{Number(alarms.Floods)}, {Span(alarms.FloodTime.ToTimeSpan())} together", to);
        foreach (var each in alarms.Chattering.Take(Longest))
        {
            to.WriteLine($"  chatters: {Of(each.Source)}{Verbs.Text.Words(each.Fault)}, {Number(each.Count)} times, up to {Number(each.WorstMinute)} a minute");
        }

        foreach (var each in alarms.Stale.Take(Longest))
        {
            to.WriteLine($"  stood for more than a day: {Of(each.Axis)}{Verbs.Text.Words(each.Fault)}, {Span(each.Longest.ToTimeSpan())}");
        }
    }

    private static void PrintStops(IReadOnlyList<StopGroup> groups, TextWriter to)
    {
        var compared = groups.Where(group => group.Count > 1).ToArray();
        if (compared.Length == 0)
        {
            return;
        }

        to.WriteLine();
        to.WriteLine("Stops from about the same speed: first, last, mean");
        foreach (var group in compared)
        {
            to.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"  {group.Axis}, category {group.Category}, {group.Slowest:0.#} to {group.Fastest:0.#} {group.Unit}/s, {group.Count} stops: {group.First.TimeMs:0}, {group.Last.TimeMs:0}, {group.MeanTimeMs:0} ms; {group.First.Distance:0.##}, {group.Last.Distance:0.##}, {group.MeanDistance:0.##} {group.Unit}"));
        }
    }

    private static void Row(string name, string value, TextWriter to) => to.WriteLine($"  {name,-28} {value}");

    private static string Of(string source) => source.Length > 0 ? $"{source}, " : "";

    private static string Seconds(ParetoLine line) => Span(TimeSpan.FromSeconds(line.Value));

    private static string Number(double value) => value.ToString("0", CultureInfo.InvariantCulture);

    private static string Percent(double share) => (share * 100).ToString("0.00", CultureInfo.InvariantCulture) + " %";

    private static string Day(Timestamp time) => time.ToDateTime().ToLocalTime().ToString("yyyy-MM-dd HH:mm", CultureInfo.InvariantCulture);
}

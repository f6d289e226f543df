using System.Globalization;
using Google.Protobuf.WellKnownTypes;
using Supervisor.Api.V1;

namespace Supervisor.Daemon.Verbs.History;

/// <summary>What the records of a period come to. Times in seconds; what is not known is null.</summary>
public sealed record StatisticsJson(
    string Since, string Until, long Incidents, long Faults, long Warnings, DependabilityJson Dependability, double NotRunningS, double NotKnownS, double UndatedS, long UndatedRecords,
    IReadOnlyList<ParetoJson> FaultsByCount, IReadOnlyList<ParetoJson> FaultsByDownTime, IReadOnlyList<ParetoJson> AxesByCount, IReadOnlyList<ParetoJson> AxesByDownTime,
    AlarmsJson Alarms, IReadOnlyList<StopGroupJson> Stops)
{
    public static StatisticsJson From(GetStatisticsResponse told)
    {
        ArgumentNullException.ThrowIfNull(told);
        var (of, alarms) = (told.Dependability, told.Alarms);
        return new(
            Time(told.Since)!, Time(told.Until)!, told.Incidents, told.Faults, told.Warnings,
            new DependabilityJson(
                Seconds(of.Up) ?? 0, Seconds(of.Down) ?? 0, of.Failures, of.Repairs, of.IsDown, Seconds(of.MeanTimeBetweenFailures), Seconds(of.MeanTimeToRepair),
                of.HasAvailability ? of.Availability : null, of.HasUpShare ? of.UpShare : null),
            Seconds(told.NotRunning) ?? 0, Seconds(told.NotKnown) ?? 0, Seconds(told.Undated) ?? 0, told.UndatedRecords,
            Lines(told.FaultsByCount), Lines(told.FaultsByDownTime), Lines(told.AxesByCount), Lines(told.AxesByDownTime),
            new AlarmsJson(
                alarms.Alarms, alarms.HasPerTenMinutes ? alarms.PerTenMinutes : null, alarms.Peak, Time(alarms.PeakAt), alarms.Floods, Seconds(alarms.FloodTime) ?? 0,
                [.. alarms.Chattering.Select(each => new ChatteringJson(each.Fault, each.Source, each.Count, each.WorstMinute))],
                [.. alarms.Stale.Select(each => new StaleJson(each.Fault, each.Axis, Seconds(each.Longest) ?? 0))]),
            [.. told.Stops.Select(group => new StopGroupJson(
                group.Axis, group.Unit, group.Category, group.Slowest, group.Fastest, group.Count, Measure(group.First), Measure(group.Last), group.MeanTimeMs, group.MeanDistance))]);
    }

    private static IReadOnlyList<ParetoJson> Lines(IEnumerable<ParetoLine> lines) =>
        [.. lines.Select(line => new ParetoJson(line.Name, line.Value, line.Share, line.CumulativeShare))];

    private static StopMeasureJson Measure(StopMeasure stop) => new(stop.Sequence, Time(stop.Time)!, stop.TimeMs, stop.Distance);

    private static double? Seconds(Duration? time) => time?.ToTimeSpan().TotalSeconds;

    private static string? Time(Timestamp? time) => time?.ToDateTime().ToString("O", CultureInfo.InvariantCulture);
}

/// <summary>Time between failures and to repair.</summary>
public sealed record DependabilityJson(
    double UpS, double DownS, long Failures, long Repairs, bool IsDown, double? MeanTimeBetweenFailuresS, double? MeanTimeToRepairS, double? Availability, double? UpShare);

/// <summary>One cause: a count, or seconds; shares from 0 to 1.</summary>
public sealed record ParetoJson(string Name, double Value, double Share, double CumulativeShare);

/// <summary>Faults and warnings as alarms.</summary>
public sealed record AlarmsJson(
    long Alarms, double? PerTenMinutes, long Peak, string? PeakAt, long Floods, double FloodTimeS, IReadOnlyList<ChatteringJson> Chattering, IReadOnlyList<StaleJson> Stale);

/// <summary>An alarm that came more than three times a minute.</summary>
public sealed record ChatteringJson(string Fault, string Source, long Count, long WorstMinute);

/// <summary>A fault that stood for more than 24 h.</summary>
public sealed record StaleJson(string Fault, string Axis, double LongestS);

/// <summary>Alike stops.</summary>
public sealed record StopGroupJson(
    string Axis, string Unit, int Category, double Slowest, double Fastest, long Count, StopMeasureJson First, StopMeasureJson Last, double MeanTimeMs, double MeanDistance);

/// <summary>One stop of a group.</summary>
public sealed record StopMeasureJson(long Sequence, string Time, double TimeMs, double Distance);

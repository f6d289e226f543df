using Supervisor.Records.Faults;

namespace Supervisor.History.Statistics;

/// <summary>What the records of a period come to.</summary>
/// <param name="Question">What was asked.</param>
/// <param name="Incidents">Incidents that began in the period.</param>
/// <param name="Faults">Faults in it, without warnings.</param>
/// <param name="Warnings">Warnings in it.</param>
/// <param name="Dependability">Time between failures and to repair.</param>
/// <param name="NotRunning">Time between an end in order and the next start: neither up nor down.</param>
/// <param name="NotKnown">Time of which no record tells: before the first that is kept, and from the last sign of a run that ended otherwise to the next start.</param>
/// <param name="Undated">Running time of boots whose clock was never set: it may lie in the period or not and is in no other number.</param>
/// <param name="UndatedRecords">Records of such boots.</param>
public sealed record MachineStatistics(
    StatisticsQuestion Question, long Incidents, long Faults, long Warnings, Dependability Dependability,
    TimeSpan NotRunning, TimeSpan NotKnown, TimeSpan Undated, long UndatedRecords)
{
    /// <summary>Faults by code, the most frequent first.</summary>
    public required IReadOnlyList<ParetoLine<FaultCode>> CodesByCount { get; init; }

    /// <summary>Seconds of down time by the code that led, the longest first.</summary>
    public required IReadOnlyList<ParetoLine<FaultCode>> CodesByDownTime { get; init; }

    /// <summary>Faults by axis; those without an axis are left out.</summary>
    public required IReadOnlyList<ParetoLine<string>> AxesByCount { get; init; }

    /// <summary>Seconds by axis for which it was out; axes may be out at once.</summary>
    public required IReadOnlyList<ParetoLine<string>> AxesByDownTime { get; init; }

    /// <summary>How often somebody was alarmed.</summary>
    public required AlarmStatistics Alarms { get; init; }

    /// <summary>Alike stops, compared.</summary>
    public required IReadOnlyList<StopGroup> Stops { get; init; }
}

/// <summary>Faults and warnings as alarms, by the measures of ISA-18.2 and EEMUA 191.</summary>
/// <param name="Alarms">How many.</param>
/// <param name="PerTenMinutes">On average of the running time; null when none passed.</param>
/// <param name="Peak">Most within ten minutes, to the second. Repeats that were collapsed are spread evenly.</param>
/// <param name="PeakAt">When that was reached; null without alarms.</param>
/// <param name="Floods">Floods that began in the period: from more than 10 within ten minutes to fewer than 5.</param>
/// <param name="FloodTime">How long they lasted together.</param>
/// <param name="Chattering">Alarms that came more than three times a minute, the worst first.</param>
/// <param name="Stale">Faults that stood for more than 24 h, the longest first.</param>
public sealed record AlarmStatistics(
    long Alarms, double? PerTenMinutes, long Peak, DateTimeOffset? PeakAt, long Floods, TimeSpan FloodTime, IReadOnlyList<ChatteringAlarm> Chattering, IReadOnlyList<StaleAlarm> Stale);

/// <summary>An alarm that comes and goes.</summary>
/// <param name="Code">What it says.</param>
/// <param name="Source">Name of its axis, else its interlock, else its port; may be empty.</param>
/// <param name="Count">How often in the period.</param>
/// <param name="WorstMinute">Most within a minute.</param>
public sealed record ChatteringAlarm(FaultCode Code, string Source, long Count, long WorstMinute);

/// <summary>A fault that nobody cleared for long.</summary>
/// <param name="Code">The fault.</param>
/// <param name="Axis">Its axis.</param>
/// <param name="Longest">How long it stood, while the supervisor ran.</param>
public sealed record StaleAlarm(FaultCode Code, string Axis, TimeSpan Longest);

/// <summary>Stops of one axis, of one category, from about the same speed.</summary>
/// <param name="Axis">Name of the axis.</param>
/// <param name="Unit">Its unit.</param>
/// <param name="Category">Stop category of IEC 60204-1.</param>
/// <param name="Slowest">Lowest speed at the trip, unit/s.</param>
/// <param name="Fastest">Highest, at most a quarter above.</param>
/// <param name="Count">How many that were seen to rest.</param>
/// <param name="First">The first.</param>
/// <param name="Last">The last.</param>
/// <param name="MeanTime">Mean time to rest.</param>
/// <param name="MeanDistance">Mean distance, unit.</param>
public sealed record StopGroup(
    string Axis, string Unit, int Category, double Slowest, double Fastest, long Count, StopMeasure First, StopMeasure Last, TimeSpan MeanTime, double MeanDistance);

/// <summary>One stop.</summary>
/// <param name="Sequence">Number of its record.</param>
/// <param name="Utc">When.</param>
/// <param name="Time">From trip to rest.</param>
/// <param name="Distance">From trip to rest, unit.</param>
public readonly record struct StopMeasure(long Sequence, DateTimeOffset Utc, TimeSpan Time, double Distance);

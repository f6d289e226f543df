using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Incidents;
using Supervisor.History.Reading;
using Supervisor.History.Statistics;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;

namespace Supervisor.History.Tests.Statistics;

/// <summary>Records as a file would give them, told by hours since midnight of a day.</summary>
internal sealed class RecordedDays(double sinceHour, double untilHour, string? axis = null, double? runsAtHour = null)
{
    public static readonly DateTimeOffset Midnight = new(2031, 5, 6, 0, 0, 0, TimeSpan.Zero);

    private readonly StatisticsSteps _steps = new(new StatisticsQuestion(At(sinceHour), At(untilHour)) { Axis = axis, RunsAt = runsAtHour is { } hour ? TimeSpan.FromHours(hour) : null });
    private long _sequence;

    /// <summary>By how much the clock is ahead of the monotonic one, hours.</summary>
    public double Ahead { get; set; }

    public string Boot { get; set; } = "boot-1";

    public UtcQuality Quality { get; set; } = UtcQuality.Synchronised;

    public static DateTimeOffset At(double hour) => Midnight + TimeSpan.FromHours(hour);

    public RecordedDays Start(double hour) => Take(new StartRecord(TimeSpan.FromHours(hour), "1", "bench", "hash"));

    public RecordedDays End(double hour) => Take(new EndRecord(TimeSpan.FromHours(hour), "asked"));

    public RecordedDays Fault(double hour, string? axis = "dibber", FaultCode code = FaultCode.FollowingError, long? incident = null, Relation relation = Relation.Leads, AxisState state = AxisState.Moving, FaultClass? of = null) => Take(
        new FaultRecord(TimeSpan.FromHours(hour), axis, "line-a", null, code, of ?? FaultCatalogue.ClassOf(code), 0, state, 0, 0), new Placement(incident ?? _sequence + 1, relation));

    public RecordedDays Repeats(double hour, double lastHour, long count) => Add(
        Stored(Of(hour, FaultCode.FollowingError)) with { Count = count, Last = TimeSpan.FromHours(lastHour) });

    public RecordedDays Back(double hour, string axis = "dibber", ReturnStep step = ReturnStep.Ready) => Take(new ReturnRecord(TimeSpan.FromHours(hour), axis, FaultCode.FollowingError, step));

    public RecordedDays Stop(double hour, double velocity, double seconds, double distance, int category = 1, string axis = "dibber") => Take(
        new StopRecord(TimeSpan.FromHours(hour), axis, "mm", "door", category, velocity, distance, TimeSpan.FromSeconds(seconds), null));

    public RecordedDays Live(double hour)
    {
        _steps.Live(Stored(Of(hour, FaultCode.FollowingError)));
        return this;
    }

    public MachineStatistics Result() => _steps.Result();

    private RecordedDays Take(HistoryRecord record, Placement placement = default) => Add(Stored(record) with { Placement = placement });

    private RecordedDays Add(StoredRecord stored)
    {
        _steps.Take(stored);
        return this;
    }

    private static FaultRecord Of(double hour, FaultCode code) => new(TimeSpan.FromHours(hour), "dibber", "line-a", null, code, FaultCatalogue.ClassOf(code), 0, AxisState.Moving, 0, 0);

    private StoredRecord Stored(HistoryRecord record) => new(++_sequence, Boot, Midnight + record.At + TimeSpan.FromHours(Ahead), Quality, record) { Last = record.At };
}

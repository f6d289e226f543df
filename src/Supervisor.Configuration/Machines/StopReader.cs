using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads the stop that was measured when the machine was commissioned, and how long one may take. Left out: nothing to compare with.</summary>
internal static class StopReader
{
    private const double LongestMs = 600_000;
    private const double DefaultWarning = 20;

    /// <summary>Longest time from the loss of the supervisor to rest; null when left out.</summary>
    public static TimeSpan? ReadBudget(ObjectReader axis) => axis.Find("stopBudgetMs") is null ? null
        : Milliseconds.ToTime(axis.Number("stopBudgetMs", NumberRange.Above0(Milliseconds.Unit, LongestMs), double.NaN));

    public static StopDefinition? Read(ObjectReader axis, string unit, LimitsDefinition limits)
    {
        if (axis.Object("stop", MachineShapes.Stop) is not { } stop)
        {
            return null;
        }

        var velocity = stop.Number("velocity", NumberRange.Above0($"{unit}/s"), "velocity at the trip");
        var timeMs = stop.Number("timeMs", NumberRange.Above0(Milliseconds.Unit, LongestMs), "time from trip to rest");
        var distance = stop.Number("distance", NumberRange.Above0(unit), "way from trip to rest");
        var rampMs = velocity / limits.Deceleration * 1000;
        if (timeMs < rampMs)
        {
            stop.Refuse("timeMs", $"{Show.Number(timeMs)} ms is shorter than the ramp alone, {Show.Number(Math.Round(rampMs))} ms from {Show.Number(velocity)} {unit}/s at limits.deceleration; measure it, or correct the limit");
        }

        return new StopDefinition(
            velocity, Milliseconds.ToTime(timeMs), distance, stop.Number("warnAbove", NumberRange.Above0("%", 1_000), DefaultWarning));
    }
}

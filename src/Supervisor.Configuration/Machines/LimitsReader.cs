using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads an axis's limits.</summary>
internal sealed class LimitsReader(ObjectReader axis, string unit)
{
    // Far longer than any axis takes; what is longer is a slip of the pen, and no deadline could be made of it.
    private const double LongestRampS = 3600;

    private string InUnit => unit.Length == 0 ? "" : $" ({unit})";

    /// <summary>The limits; a value that is wrong is NaN.</summary>
    public LimitsDefinition Read(bool isEndless)
    {
        if (axis.Object("limits", MachineShapes.Limits, "limits of position, velocity and ramps") is not { } limits)
        {
            return new LimitsDefinition(null, null, double.NaN, double.NaN, double.NaN, null);
        }

        var (lower, upper) = ReadPosition(limits, isEndless);
        double? jerk = limits.Find("jerk") is null ? null : limits.Number("jerk", NumberRange.Above0($"{unit}/s³"), double.NaN);
        var velocity = limits.Number("velocity", NumberRange.Above0($"{unit}/s"), $"the highest velocity, {unit}/s");
        var acceleration = limits.Number("acceleration", NumberRange.Above0($"{unit}/s²"), $"the steepest acceleration, {unit}/s²");
        var deceleration = limits.Number("deceleration", NumberRange.Above0($"{unit}/s²"), $"the steepest deceleration, {unit}/s²");
        RefuseEndlessRamp(limits, "acceleration", velocity / acceleration, "the highest velocity is reached");
        RefuseEndlessRamp(limits, "deceleration", velocity / deceleration, "a stop from the highest velocity ends");
        RefuseEndlessRamp(limits, "jerk", Math.Max(acceleration, deceleration) / (jerk ?? double.NaN), "the steepest ramp is reached");
        return new LimitsDefinition(lower, upper, velocity, acceleration, deceleration, jerk);
    }

    private static void RefuseEndlessRamp(ObjectReader limits, string member, double seconds, string then)
    {
        if (seconds > LongestRampS)
        {
            limits.Refuse(member, $"{then} only after {Show.Number(double.Round(seconds))} s, at most {Show.Number(LongestRampS)} s are supervised; check the number and its unit");
        }
    }

    private (double? Lower, double? Upper) ReadPosition(ObjectReader limits, bool isEndless)
    {
        if (isEndless)
        {
            if (limits.Find("position") is not null)
            {
                limits.Refuse("position", "an endless axis has no position limits; take them out, or take \"endless\" out");
            }

            return (null, null);
        }

        if (limits.Require("position", "[lower, upper]; an axis without ends says \"endless\" instead") is not { } node)
        {
            return (null, null);
        }

        var (lower, upper) = limits.Pair(node, NumberRange.Any(unit));
        if (lower > upper)
        {
            limits.Refuse("position", $"lower limit {Show.Number(lower)} is above upper limit {Show.Number(upper)}{InUnit}");
        }
        else if (lower == upper)
        {
            limits.Refuse("position", $"lower and upper limit are both {Show.Number(lower)}{InUnit}: the axis could not move");
        }

        return (lower, upper);
    }
}

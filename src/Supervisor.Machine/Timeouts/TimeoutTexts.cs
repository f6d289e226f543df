using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Records.Stops;

namespace Supervisor.Machine.Timeouts;

/// <summary>A proof of a communication time-out in words.</summary>
public static class TimeoutTexts
{
    /// <summary>The reaction as the drive definition says it.</summary>
    public static string Word(TimeoutReaction reaction) => reaction switch
    {
        TimeoutReaction.QuickStopThenHold => "quickStopThenHold",
        TimeoutReaction.TorqueOff => "torqueOff",
        _ => "quickStopThenOff",
    };

    /// <summary>What it came to, and what to do.</summary>
    public static string Of(AxisDefinition axis, in MeasuredTimeout measured)
    {
        ArgumentNullException.ThrowIfNull(axis);
        var silent = $"left unasked for {Ms(measured.Silence)} {(measured.Velocity == 0 ? "at rest" : $"at {Sentences.Speed(axis, Math.Round(measured.Velocity, 2))}")} (time-out {Ms(measured.Timeout)})";
        var what = measured.Verdict switch
        {
            TimeoutVerdict.Passed => $"the drive of {axis.Name} stopped by its communication time-out as it should: {silent}, {Figures(axis, measured)}",
            TimeoutVerdict.DidNotAct => $"the drive of {axis.Name} did not act by its communication time-out: {silent} it went on{Way(axis, measured)}, and was stopped",
            TimeoutVerdict.TooLate => $"the drive of {axis.Name} acted by its communication time-out, but not as computed: {silent}, {Figures(axis, measured)}",
            _ => $"the drive of {axis.Name} acted by its communication time-out otherwise than its definition says ({Word(axis)}): {silent}, {Figures(axis, measured)}",
        };
        return measured.Verdict == TimeoutVerdict.Passed
            ? what
            : $"{what}; set the time-out, its reaction and its ramp in the drive, or correct the drive definition, then prove it anew; until then do not rely on it when the line or the supervisor is lost";
    }

    private static string Word(AxisDefinition axis) => Word(axis.Drive.CommunicationTimeout?.Reaction ?? TimeoutReaction.QuickStopThenOff);

    private static string Figures(AxisDefinition axis, in MeasuredTimeout measured)
    {
        var rest = measured.RestAfter == TimeSpan.MaxValue ? "not seen at rest" : $"seen at rest after {Ms(measured.RestAfter)}";
        var off = measured.OffAfter == TimeSpan.MaxValue ? "torque held" : $"torque seen off after {Ms(measured.OffAfter)}";
        var acted = measured.ActedAfter == TimeSpan.MaxValue ? "" : $", braking from about {Ms(measured.ActedAfter)}";
        var code = measured.DriveCode == 0 ? "" : $", drive code {measured.DriveCode:X4}h";
        return $"{rest}{Way(axis, measured)}{acted}, {off}{code}";
    }

    private static string Way(AxisDefinition axis, in MeasuredTimeout measured) => double.IsFinite(measured.Allowed)
        ? $" {Sentences.Length(axis, Math.Round(measured.Distance, 3))} on (at most {Sentences.Length(axis, Math.Round(measured.Allowed, 3))})"
        : $" {Sentences.Length(axis, Math.Round(measured.Distance, 3))} on";

    private static string Ms(TimeSpan time) => $"{Sentences.Number(Math.Round(time.TotalMilliseconds, 1))} ms";
}

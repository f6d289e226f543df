namespace Supervisor.History.Statistics;

/// <summary>How long the machine, or an axis, was in order and how often it failed.</summary>
/// <remarks>
/// Times and counts of a period are those inside it, so that what its ends or a restart cut brings its time without a count: total time by events, the
/// estimate for observations that were broken off.
/// </remarks>
/// <param name="Up">Time in which the supervisor ran and no axis was out by a fault.</param>
/// <param name="Down">Time in which it ran and one was: from the first fault until every axis that faulted is back.</param>
/// <param name="Failures">How often it went down. What fails further while it is down is no failure more.</param>
/// <param name="Repairs">How often it came up again, seen by the supervisor.</param>
/// <param name="IsDown">True when it was down at the end.</param>
public sealed record Dependability(TimeSpan Up, TimeSpan Down, long Failures, long Repairs, bool IsDown)
{
    /// <summary>Mean time between failures: up time by failures; null without a failure.</summary>
    public TimeSpan? BetweenFailures => Failures > 0 ? Up / Failures : null;

    /// <summary>Mean time to repair: down time by repairs; null without a repair.</summary>
    public TimeSpan? ToRepair => Repairs > 0 ? Down / Repairs : null;

    /// <summary>MTBF / (MTBF + MTTR), 0 to 1; null where one of them is not known, or nothing passed.</summary>
    public double? Availability => BetweenFailures is { } between && ToRepair is { } repair && between + repair > TimeSpan.Zero ? between / (between + repair) : null;

    /// <summary>Up time by up and down time, 0 to 1: says something also while no repair is over; null when nothing passed.</summary>
    public double? UpShare => Up + Down > TimeSpan.Zero ? Up / (Up + Down) : null;
}

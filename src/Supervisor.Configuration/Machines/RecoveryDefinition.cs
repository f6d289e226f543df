using Supervisor.Records.Faults;

namespace Supervisor.Configuration.Machines;

/// <summary>What to do by itself after a fault of one of <paramref name="Faults"/>, at most <paramref name="Attempts"/> times within <paramref name="Within"/>.</summary>
public sealed record RecoveryDefinition(IReadOnlyList<FaultClass> Faults, int Attempts, TimeSpan Within, RecoveryAction Then)
{
    /// <summary>Share of the speed asked for that is left after a following error, where the file says none (common practice, no source).</summary>
    public const double DefaultSpeedPercent = 25;

    /// <summary>How long to wait before each attempt.</summary>
    public BackOffDefinition BackOff { get; init; } = BackOffDefinition.Default;

    /// <summary>
    /// After a following error: percent of the speed a command asks for that the axis is given, until it has come past the place where it
    /// did not follow, or a person takes it in hand. Above 0, below 100.
    /// </summary>
    public double SpeedPercent { get; init; } = DefaultSpeedPercent;
}

/// <summary>Waits before attempts: the first, how much longer each following one is, and the longest. They begin once the drive answers and nothing stands open.</summary>
public sealed record BackOffDefinition(TimeSpan Initial, double Factor, TimeSpan Longest)
{
    /// <summary>1 s, 2 s, 4 s and so on, at most 30 s (common practice, no source).</summary>
    public static BackOffDefinition Default { get; } = new(TimeSpan.FromSeconds(1), 2, TimeSpan.FromSeconds(30));

    /// <summary>The wait before the next attempt.</summary>
    /// <param name="made">Attempts made so far within the window, 0 or more.</param>
    public TimeSpan Before(int made)
    {
        var waitMs = Initial.TotalMilliseconds * Math.Pow(Factor, made);
        return waitMs < Longest.TotalMilliseconds ? TimeSpan.FromMilliseconds(waitMs) : Longest;
    }
}

/// <summary>What a recovery does.</summary>
public enum RecoveryAction
{
    /// <summary>Resets the fault; the axis is then disabled.</summary>
    Reset = 0,

    /// <summary>Resets and energises.</summary>
    ResetAndEnable = 1,

    /// <summary>Resets, then homes (an axis with no homing is energised).</summary>
    ResetAndHome = 2,
}

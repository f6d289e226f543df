using System.Globalization;
using Supervisor.Configuration.Machines;
using Supervisor.Machine.Timeouts;

namespace Supervisor.Daemon.Memories;

/// <summary>Whether a drive's communication time-out counts as commissioned.</summary>
public enum TimeoutStanding : byte
{
    /// <summary>The drive definition declares none.</summary>
    None = 0,

    /// <summary>Nobody has shown that it works.</summary>
    Never = 1,

    /// <summary>Proven, with the time-out and the reaction that the files ask for now.</summary>
    Proven = 2,

    /// <summary>Proven once; the time-out, the reaction or the drive is another one since.</summary>
    Outdated = 3,

    /// <summary>The last proof failed.</summary>
    Failed = 4,
}

/// <summary>What the proofs that are kept mean for the files of now.</summary>
internal static class TimeoutStandings
{
    /// <param name="axis">The axis with its drive definition.</param>
    /// <param name="kept">What is kept of it.</param>
    /// <param name="serialNumber">Raw serial number of the drive that answers; null where it is not known.</param>
    public static TimeoutStanding Of(AxisDefinition axis, KeptTimeoutProofs kept, uint? serialNumber) =>
        axis.Drive.CommunicationTimeout is not { } declared ? TimeoutStanding.None
        : kept.Failed is not null ? TimeoutStanding.Failed
        : kept.Passed is not { } passed ? TimeoutStanding.Never
        : passed.Timeout == axis.CommunicationTimeout && passed.Reaction == TimeoutTexts.Word(declared.Reaction)
            && (passed.SerialNumber is null || serialNumber is null || passed.SerialNumber == serialNumber) ? TimeoutStanding.Proven
        : TimeoutStanding.Outdated;

    /// <summary>A clause for a person: how it stands, and what to do.</summary>
    public static string Text(AxisDefinition axis, KeptTimeoutProofs kept, TimeoutStanding standing) => standing switch
    {
        TimeoutStanding.Never => $"never proven: prove it with drive prove-timeout {axis.Name}",
        TimeoutStanding.Proven => $"proven {When(kept.Passed!)}{How(axis, kept.Passed!)}",
        TimeoutStanding.Outdated => $"proven {When(kept.Passed!)} with {Ms(kept.Passed!.Timeout)} and {kept.Passed.Reaction} on another setting or drive: prove it anew with drive prove-timeout {axis.Name}",
        TimeoutStanding.Failed => $"failed its proof {When(kept.Failed!)}: set it right in the drive, then prove it anew with drive prove-timeout {axis.Name}",
        _ => "none declared: the drive does not stop by itself",
    };

    /// <summary>Milliseconds with their unit.</summary>
    public static string Ms(TimeSpan time) => string.Create(CultureInfo.InvariantCulture, $"{time.TotalMilliseconds:0.###} ms");

    private static string How(AxisDefinition axis, KeptTimeoutProof proof) => proof.Velocity == 0
        ? " at rest"
        : string.Create(CultureInfo.InvariantCulture, $" from {Math.Abs(proof.Velocity):0.##} {axis.Unit}/s in {proof.Distance:0.###} {axis.Unit}");

    private static string When(KeptTimeoutProof proof) =>
        proof.Utc.ToLocalTime().ToString("yyyy-MM-dd HH:mm", CultureInfo.InvariantCulture) + (proof.IsClockRight ? "" : " (clock not set)");
}

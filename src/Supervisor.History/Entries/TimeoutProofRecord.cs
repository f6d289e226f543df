using Supervisor.Records.Stops;

namespace Supervisor.History.Entries;

/// <summary>A drive's communication time-out was provoked, and what the drive did.</summary>
/// <param name="At">Monotonic time at which the drive was last spoken to before.</param>
/// <param name="Axis">Name of the axis.</param>
/// <param name="Unit">Its unit.</param>
/// <param name="Verdict">What it came to.</param>
/// <param name="Reaction">What the drive definition says it does, such as <c>quickStopThenOff</c>.</param>
/// <param name="Timeout">Time-out that the machine file asks for.</param>
/// <param name="Silence">How long the drive was left unasked.</param>
/// <param name="Velocity">Velocity before, unit/s.</param>
/// <param name="Distance">Farthest from where it was, unit.</param>
/// <param name="Allowed">Farthest that was allowed, unit; null where nothing brakes it.</param>
public sealed record TimeoutProofRecord(
    TimeSpan At, string Axis, string Unit, TimeoutVerdict Verdict, string Reaction, TimeSpan Timeout, TimeSpan Silence, double Velocity, double Distance,
    double? Allowed)
    : HistoryRecord(At)
{
    /// <inheritdoc/>
    public override RecordKind Kind => RecordKind.TimeoutProof;

    /// <summary>Time from the last frame to rest; null when rest was not seen.</summary>
    public TimeSpan? RestAfter { get; init; }

    /// <summary>Time from the last frame to torque off; null when it was not seen.</summary>
    public TimeSpan? OffAfter { get; init; }

    /// <summary>Time from the last frame to the beginning of the ramp, computed from the distance; null where it can't be told.</summary>
    public TimeSpan? ActedAfter { get; init; }

    /// <summary>Number of the drive's own fault; 0 when it told none.</summary>
    public ushort DriveCode { get; init; }

    /// <summary>Id of the command.</summary>
    public ulong CommandId { get; init; }

    /// <summary>Who asked; empty when not known.</summary>
    public string Holder { get; init; } = "";
}

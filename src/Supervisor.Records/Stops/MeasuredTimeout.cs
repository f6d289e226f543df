namespace Supervisor.Records.Stops;

/// <summary>
/// What a drive did while it was left unasked on purpose, to show that its communication time-out works. Seen from outside: between the last
/// frame before the silence and the first after it nobody knows where the axis was. Not a validated measurement for a safety distance.
/// </summary>
/// <param name="Axis">Index of the axis in the machine file.</param>
/// <param name="CommandId">The command that asked for it.</param>
/// <param name="SilentFrom">Monotonic time at which the last frame before the silence ended.</param>
/// <param name="Timeout">The drive's time-out as the machine file sets it.</param>
/// <param name="Silence">From then to the first reply after it.</param>
/// <param name="Velocity">Velocity as last read before the silence, unit/s with its sign.</param>
/// <param name="Distance">Farthest from where it was then, unit.</param>
/// <param name="Allowed">Farthest that it may come, unit: the velocity over the time-out and its tolerance, and the ramp. Infinite where nothing brakes it.</param>
/// <param name="RestAfter">From the last frame to the first feedback that shows rest; <see cref="TimeSpan.MaxValue"/> when it was not seen.</param>
/// <param name="OffAfter">From the last frame to the first feedback that shows torque off; <see cref="TimeSpan.MaxValue"/> when it was not seen.</param>
public readonly record struct MeasuredTimeout(
    short Axis, ulong CommandId, TimeSpan SilentFrom, TimeSpan Timeout, TimeSpan Silence, double Velocity, double Distance, double Allowed,
    TimeSpan RestAfter, TimeSpan OffAfter)
{
    /// <summary>What it came to.</summary>
    public TimeoutVerdict Verdict { get; init; }

    /// <summary>How long after the last frame the drive began to brake, computed from the distance and the ramp; <see cref="TimeSpan.MaxValue"/> where that can't be told.</summary>
    public TimeSpan ActedAfter { get; init; }

    /// <summary>Number of the drive's own fault; 0 when it told none.</summary>
    public ushort DriveCode { get; init; }
}

/// <summary>What a proof of a drive's communication time-out came to.</summary>
/// <remarks>Numbers are stored: append, never renumber.</remarks>
public enum TimeoutVerdict : byte
{
    None = 0,

    /// <summary>It stopped as its definition says, in time and within the computed distance.</summary>
    Passed = 1,

    /// <summary>It went on as if it were still spoken to.</summary>
    DidNotAct = 2,

    /// <summary>It acted, but came to rest too late or too far, or kept its torque for too long.</summary>
    TooLate = 3,

    /// <summary>It stopped otherwise than its definition says: torque off instead of held, or at once instead of after a ramp.</summary>
    OtherReaction = 4,
}

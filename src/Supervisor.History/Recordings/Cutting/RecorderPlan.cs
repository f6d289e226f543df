using Supervisor.Records.Tracing;

namespace Supervisor.History.Recordings.Cutting;

/// <summary>What a recorder works with.</summary>
/// <param name="Before">From how long before the first event.</param>
/// <param name="After">To how long after the last one.</param>
/// <param name="Longest">Longest recording.</param>
/// <param name="Axes">The axes, in the order of the samples' indices.</param>
/// <param name="Rings">The ports' rings.</param>
public sealed record RecorderPlan(TimeSpan Before, TimeSpan After, TimeSpan Longest, IReadOnlyList<RecordedAxis> Axes, IReadOnlyList<TraceRing> Rings)
{
    /// <summary>Index of each axis's ring.</summary>
    public required IReadOnlyList<int> RingOfAxis { get; init; }
}

/// <summary>What a recording is made for.</summary>
/// <param name="At">Monotonic time at which it happened.</param>
/// <param name="Axis">Name of the axis; null when it concerns none.</param>
/// <param name="What">For a person, such as <c>following error</c>.</param>
/// <param name="IsMinor">A stop that a person asked for: it must not take the room of faults.</param>
public readonly record struct RecordingEvent(TimeSpan At, string? Axis, string What, bool IsMinor);

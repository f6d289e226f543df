using Supervisor.Records.Tracing;

namespace Supervisor.History.Recordings;

/// <summary>A recording as it was read.</summary>
/// <param name="Head">What it holds.</param>
/// <param name="Samples">Samples by axis, in the order of <see cref="RecordingHead.Axes"/>, oldest first. Axes that were not asked for are empty.</param>
public sealed record Recording(RecordingHead Head, IReadOnlyList<IReadOnlyList<TraceSample>> Samples);

/// <summary>What a recording holds.</summary>
/// <param name="From">Monotonic time of its begin.</param>
/// <param name="To">Monotonic time of its end.</param>
/// <param name="Axes">The axes.</param>
/// <param name="Gaps">Where samples are missing, by time; empty: nowhere.</param>
public sealed record RecordingHead(TimeSpan From, TimeSpan To, IReadOnlyList<RecordedAxis> Axes, IReadOnlyList<TraceGap> Gaps)
{
    /// <summary>Most gaps that are told one by one.</summary>
    public const int MostGaps = 1_000;

    /// <summary>Gaps beyond those that are listed.</summary>
    public int MoreGaps { get; init; }
}

/// <summary>Samples of one axis, encoded.</summary>
/// <param name="Axis">Index in <see cref="RecordingHead.Axes"/>.</param>
/// <param name="Data">As <see cref="Coding.ChunkCodec"/> writes it.</param>
public sealed record RecordingChunk(int Axis, byte[] Data);

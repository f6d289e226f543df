using Supervisor.History.Recordings;

namespace Supervisor.History.Entries;

/// <summary>Samples of every axis were kept around something that happened. A record that was read carries no samples: see <see cref="Recordings.Reading.RecordingReader"/>.</summary>
/// <param name="At">Monotonic time of the first event.</param>
/// <param name="Axis">Name of its axis; null when it concerned none.</param>
/// <param name="What">What happened, for a person.</param>
/// <param name="From">Monotonic time of the recording's begin.</param>
/// <param name="To">Monotonic time of its end.</param>
public sealed record RecordingRecord(TimeSpan At, string? Axis, string What, TimeSpan From, TimeSpan To) : HistoryRecord(At)
{
    /// <inheritdoc/>
    public override RecordKind Kind => RecordKind.Recording;

    /// <inheritdoc/>
    public override bool IsBulk => true;

    /// <summary>Events in it.</summary>
    public int Events { get; init; } = 1;

    /// <summary>Events of which not all that comes behind is in it, as it would have become too long.</summary>
    public int EventsBeyond { get; init; }

    /// <summary>Gaps in its samples, of all axes together.</summary>
    public int Gaps { get; init; }

    /// <summary>It was made for nothing but stops that a person asked for.</summary>
    public bool IsMinor { get; init; }

    /// <summary>The samples on their way to the file; null in a record that was read.</summary>
    public RecordingContent? Content { get; init; }
}

/// <summary>The samples of a recording, encoded.</summary>
/// <param name="Head">What it holds: axes and gaps.</param>
/// <param name="Chunks">The samples.</param>
public sealed record RecordingContent(byte[] Head, IReadOnlyList<RecordingChunk> Chunks)
{
    /// <summary>Bytes of it in the file, without what the database adds.</summary>
    public long Bytes => Head.Length + Chunks.Sum(chunk => (long)chunk.Data.Length);
}

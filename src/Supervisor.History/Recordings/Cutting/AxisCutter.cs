using Supervisor.History.Recordings.Coding;
using Supervisor.Records.Tracing;

namespace Supervisor.History.Recordings.Cutting;

/// <summary>One axis of a recording in the making: encodes its samples and keeps where some are missing.</summary>
internal sealed class AxisCutter(int index, RecordedAxis axis, TimeSpan from, bool ringIsWhole)
{
    private readonly AxisGaps _finder = new(index, axis, from, ringIsWhole);
    private readonly TraceSample[] _buffer = new TraceSample[ChunkCodec.MaximumSamples];
    private readonly List<TraceGap> _gaps = [];
    private int _count;

    /// <summary>Gaps so far, by time.</summary>
    public IReadOnlyList<TraceGap> Gaps => _gaps;

    /// <summary>Gaps that are not in the list, as there are too many.</summary>
    public int MoreGaps { get; private set; }

    /// <summary>Samples were overwritten before this axis's next one.</summary>
    public void NoteOvertaken() => _finder.NoteOvertaken();

    /// <summary>Takes the next sample; one from before the begin only tells what came before.</summary>
    public void Take(in TraceSample sample, ChunkCodec codec, List<RecordingChunk> chunks)
    {
        var wasFresh = _finder.IsLastFresh;
        Add(_finder.Next(sample), wasFresh);
        if (sample.At < from)
        {
            return;
        }

        _buffer[_count++] = sample;
        if (_count == _buffer.Length)
        {
            Flush(codec, chunks);
        }
    }

    /// <summary>The recording ends: what is missing at its end is told.</summary>
    /// <param name="to">Its end.</param>
    /// <param name="newestCycle">The newest cycle of which its port told anything up to the end.</param>
    /// <param name="codec">Encodes what is left.</param>
    /// <param name="chunks">Gets what is left.</param>
    public void End(TimeSpan to, uint newestCycle, ChunkCodec codec, List<RecordingChunk> chunks)
    {
        Add(_finder.AtEnd(to, newestCycle), _finder.IsLastFresh);
        Flush(codec, chunks);
    }

    // A drive that is lost is asked now and then: what lies between is one gap.
    private void Add(TraceGap? found, bool isBehindFresh)
    {
        if (found is not { } gap)
        {
            return;
        }

        if (_gaps.Count > 0 && gap.Cause == GapCause.Offline && _gaps[^1] is { Cause: GapCause.Offline } before && before.To == gap.From && !isBehindFresh)
        {
            _gaps[^1] = before with { To = gap.To, Cycles = before.Cycles + gap.Cycles };
        }
        else if (_gaps.Count < RecordingHead.MostGaps)
        {
            _gaps.Add(gap);
        }
        else
        {
            MoreGaps++;
        }
    }

    private void Flush(ChunkCodec codec, List<RecordingChunk> chunks)
    {
        if (_count > 0)
        {
            chunks.Add(new RecordingChunk(index, codec.Write(_buffer.AsSpan(0, _count), axis.CountsPerUnit)));
            _count = 0;
        }
    }
}

using Supervisor.Records.Tracing;

namespace Supervisor.History.Recordings.Cutting;

/// <summary>Follows the rings of some axes from a time on, as fast as its caller reads: what is overwritten before is told as gaps. Used by one thread at a time.</summary>
public sealed class LiveTrace
{
    private readonly int[] _indexOfAxis;
    private readonly AxisGaps?[] _gaps;
    private readonly Port[] _ports;
    private readonly TimeSpan? _since;
    private int _turn;

    /// <param name="plan">The axes and rings.</param>
    /// <param name="axes">Indices of the axes wanted.</param>
    /// <param name="since">Monotonic time of the first sample; null: the next one.</param>
    public LiveTrace(RecorderPlan plan, IReadOnlyList<int> axes, TimeSpan? since)
    {
        ArgumentNullException.ThrowIfNull(plan);
        ArgumentNullException.ThrowIfNull(axes);
        _since = since;
        _indexOfAxis = [.. plan.Axes.Select((_, axis) => axes.ToList().IndexOf(axis))];
        _gaps = [.. plan.Axes.Select((axis, index) => _indexOfAxis[index] < 0 ? null : new AxisGaps(_indexOfAxis[index], axis, since, ringIsWhole: true))];
        _ports = [.. plan.RingOfAxis.Where((_, axis) => _indexOfAxis[axis] >= 0).Distinct().Select(ring => new Port(
            since is null ? plan.Rings[ring].ReadFromNow() : plan.Rings[ring].ReadFromOldest(),
            [.. plan.Axes.Select((_, axis) => axis).Where(axis => plan.RingOfAxis[axis] == ring)]))];
    }

    /// <summary>The next sample of any of the axes; false when there is none yet. Samples of one axis come by time, those of different ports may not.</summary>
    /// <param name="sample">The sample.</param>
    /// <param name="axis">Index among the axes wanted.</param>
    /// <param name="gap">What is missing before it.</param>
    public bool TryRead(out TraceSample sample, out int axis, out TraceGap? gap)
    {
        for (var tried = 0; tried < _ports.Length;)
        {
            var port = _ports[_turn % _ports.Length];
            if (!port.TryRead(out sample, out var lost))
            {
                _turn++;
                tried++;
                continue;
            }

            if (lost > 0)
            {
                NoteOvertaken(port);
            }

            if (_gaps[sample.Axis] is { } gaps)
            {
                gap = gaps.Next(sample);
                axis = _indexOfAxis[sample.Axis];
                if (_since is null || sample.At >= _since)
                {
                    return true;
                }
            }
        }

        (sample, axis, gap) = (default, -1, null);
        return false;
    }

    private void NoteOvertaken(Port port)
    {
        foreach (var axis in port.Axes)
        {
            _gaps[axis]?.NoteOvertaken();
        }
    }

    private sealed class Port(TraceReader reader, int[] axes)
    {
        private readonly TraceSample[] _buffer = new TraceSample[64];
        private int _next;
        private int _count;

        public int[] Axes => axes;

        public bool TryRead(out TraceSample sample, out long lost)
        {
            lost = 0;
            if (_next == _count)
            {
                _count = reader.Read(_buffer, out lost);
                _next = 0;
            }

            sample = _next < _count ? _buffer[_next] : default;
            return _next++ < _count || Rewind();
        }

        private bool Rewind()
        {
            (_next, _count) = (0, 0);
            return false;
        }
    }
}

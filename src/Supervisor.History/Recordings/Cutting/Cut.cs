using Supervisor.History.Entries;
using Supervisor.History.Recordings.Coding;

namespace Supervisor.History.Recordings.Cutting;

/// <summary>One recording in the making. It stands in memory, packed, until it is whole.</summary>
internal sealed class Cut
{
    // How long a port may be silent before its samples are given up.
    private static readonly TimeSpan PortPatience = TimeSpan.FromSeconds(2);

    private readonly RecorderPlan _plan;
    private readonly ChunkCodec _codec;
    private readonly RecordingEvent _first;
    private readonly List<RecordingChunk> _chunks = [];
    private readonly RingFollower[] _rings;
    private readonly AxisCutter[] _axes;
    private readonly uint[] _newestCycle;
    private readonly TimeSpan _latest;
    private bool _isMinor;
    private int _events = 1;
    private int _left;

    /// <param name="plan">What to record.</param>
    /// <param name="codec">Encodes it.</param>
    /// <param name="first">What it is made for.</param>
    /// <param name="from">Its begin.</param>
    /// <param name="latest">Its end at the latest.</param>
    public Cut(RecorderPlan plan, ChunkCodec codec, in RecordingEvent first, TimeSpan from, TimeSpan latest)
    {
        (_plan, _codec, _first, _isMinor, From, _latest) = (plan, codec, first, first.IsMinor, from, latest);
        _rings = [.. plan.Rings.Select(ring => new RingFollower(ring))];
        _axes = [.. plan.Axes.Select((axis, index) => new AxisCutter(index, axis, from, _rings[plan.RingOfAxis[index]].IsWhole))];
        _newestCycle = new uint[_rings.Length];
        To = Earlier(first.At + plan.After, latest);
    }

    public TimeSpan From { get; }

    /// <summary>Its end as it stands: another event moves it.</summary>
    public TimeSpan To { get; private set; }

    /// <summary>Takes another event up to its end; false when it lies behind that.</summary>
    public bool TryExtend(in RecordingEvent happened)
    {
        if (happened.At > To)
        {
            return false;
        }

        var wanted = happened.At + _plan.After;
        To = wanted > To ? Earlier(wanted, _latest) : To;
        _isMinor &= happened.IsMinor;
        _left += wanted > _latest ? 1 : 0;
        _events++;
        return true;
    }

    /// <summary>Takes what the rings hold by now; true once everything up to its end is there, or will not come.</summary>
    public bool Follow(TimeSpan now)
    {
        var isWhole = true;
        for (var port = 0; port < _rings.Length; port++)
        {
            while (_rings[port].TryRead(To, out var sample, out var lost))
            {
                if (lost > 0)
                {
                    NoteOvertaken(port);
                }

                _newestCycle[port] = sample.Cycle;
                _axes[sample.Axis].Take(sample, _codec, _chunks);
            }

            isWhole &= _rings[port].IsPast;
        }

        return now >= To && (isWhole || now >= To + PortPatience);
    }

    /// <summary>The record of it, as it stands.</summary>
    /// <param name="to">Its end: now, when it is ended before its time.</param>
    public RecordingRecord End(TimeSpan to)
    {
        To = to < To ? to : To;
        foreach (var (axis, index) in _axes.Select((axis, index) => (axis, index)))
        {
            axis.End(To, _newestCycle[_plan.RingOfAxis[index]], _codec, _chunks);
        }

        var gaps = _axes.SelectMany(axis => axis.Gaps).OrderBy(gap => gap.From).ThenBy(gap => gap.Axis).ToArray();
        var head = new RecordingHead(From, To, _plan.Axes, gaps.Length > RecordingHead.MostGaps ? gaps[..RecordingHead.MostGaps] : gaps)
        {
            MoreGaps = _axes.Sum(axis => axis.MoreGaps) + Math.Max(0, gaps.Length - RecordingHead.MostGaps),
        };
        return new RecordingRecord(_first.At, _first.Axis, _first.What, From, To)
        {
            Events = _events,
            EventsBeyond = _left,
            Gaps = head.Gaps.Count + head.MoreGaps,
            IsMinor = _isMinor,
            Content = new RecordingContent(HeadCodec.Write(head), _chunks),
        };
    }

    private void NoteOvertaken(int port)
    {
        for (var axis = 0; axis < _axes.Length; axis++)
        {
            if (_plan.RingOfAxis[axis] == port)
            {
                _axes[axis].NoteOvertaken();
            }
        }
    }

    private static TimeSpan Earlier(TimeSpan one, TimeSpan other) => one < other ? one : other;
}

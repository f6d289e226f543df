using Supervisor.Records.Tracing;

namespace Supervisor.History.Recordings.Cutting;

/// <summary>Finds where samples of one axis are missing: it has one in every cycle of its port, so the cycles' numbers tell.</summary>
/// <param name="index">Index of the axis, for the gaps.</param>
/// <param name="axis">The axis.</param>
/// <param name="from">From when on gaps count; null: from the first sample.</param>
/// <param name="ringIsWhole">Nothing had been overwritten in the ring when its reading began.</param>
internal sealed class AxisGaps(int index, RecordedAxis axis, TimeSpan? from, bool ringIsWhole)
{
    private bool _isKnown;
    private bool _isOvertaken;
    private TraceSample _last;

    /// <summary>Its last sample was read anew.</summary>
    public bool IsLastFresh => _last.Fresh;

    /// <summary>Samples were overwritten before this axis's next one.</summary>
    public void NoteOvertaken() => _isOvertaken = true;

    /// <summary>Takes the next sample and tells what is missing before it; null: nothing.</summary>
    public TraceGap? Next(in TraceSample sample)
    {
        var gap = Before(sample);
        (_last, _isKnown, _isOvertaken) = (sample, true, false);
        return gap;
    }

    /// <summary>What is missing at an end.</summary>
    /// <param name="to">The end.</param>
    /// <param name="newestCycle">The newest cycle of which its port told anything up to the end.</param>
    public TraceGap? AtEnd(TimeSpan to, uint newestCycle)
    {
        var begin = _isKnown && _last.At > from.GetValueOrDefault() ? _last.At : from ?? to;
        var behind = _isKnown ? (int)(newestCycle - _last.Cycle) : 0;
        if (_isKnown && behind <= 1 && to - begin <= axis.Cycle * 2)
        {
            return null;
        }

        var cause = _isOvertaken || (!_isKnown && !ringIsWhole) ? GapCause.Overtaken : _isKnown && _last.Has(TraceFlags.Online) ? GapCause.NotExchanged : GapCause.Offline;
        return Gap(begin, to, Math.Max(behind, CyclesOf(to - begin)), cause);
    }

    private TraceGap? Before(in TraceSample sample)
    {
        if (!_isKnown)
        {
            // What the ring holds begins behind the begin: overwritten, or never written.
            return from is { } start && sample.At - start > axis.Cycle * 2
                ? Gap(start, sample.At, CyclesOf(sample.At - start), _isOvertaken || !ringIsWhole ? GapCause.Overtaken : GapCause.NotBegun)
                : null;
        }

        var missing = (int)(sample.Cycle - _last.Cycle) - 1;
        if (missing < 1 || sample.At <= from)
        {
            return null;
        }

        var isOffline = !_last.Has(TraceFlags.Online) || !sample.Has(TraceFlags.Online);
        var cause = _isOvertaken ? GapCause.Overtaken : isOffline ? GapCause.Offline : GapCause.NotExchanged;
        return _last.At < from
            ? Gap(from.Value, sample.At, Math.Min(missing, CyclesOf(sample.At - from.Value)), cause)
            : Gap(_last.At, sample.At, missing, cause);
    }

    private TraceGap? Gap(TimeSpan begin, TimeSpan end, int cycles, GapCause cause) => cycles < 1 ? null : new TraceGap(index, begin, end, cycles, cause);

    private int CyclesOf(TimeSpan time) => (int)Math.Floor(time / axis.Cycle);
}

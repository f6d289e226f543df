using Supervisor.History.Entries;
using Supervisor.History.Recordings.Coding;

namespace Supervisor.History.Recordings.Cutting;

/// <summary>
/// Cuts recordings out of the trace rings: from some time before an event to some time behind the last one. A step machine without thread or clock of its own; it only
/// reads the rings, and hands over whole recordings.
/// </summary>
/// <remarks>
/// Events that follow each other within the time before and behind belong together. What is recorded for them is bounded, so that a machine that faults for
/// hours does not push out what was recorded before.
/// </remarks>
public sealed class RecorderSteps
{
    private readonly RecorderPlan _plan;
    private readonly RecordingEvents _events;
    private readonly Action<RecordingRecord> _keep;
    private readonly ChunkCodec _codec = new();
    private Cut? _cut;
    private RecordingEvent? _waiting;
    private TimeSpan? _lastEvent;
    private TimeSpan _keptTo = TimeSpan.MinValue;
    private TimeSpan _room;

    /// <param name="plan">What to record.</param>
    /// <param name="events">What happens.</param>
    /// <param name="keep">Takes a whole recording; must not block.</param>
    public RecorderSteps(RecorderPlan plan, RecordingEvents events, Action<RecordingRecord> keep)
    {
        ArgumentNullException.ThrowIfNull(plan);
        ArgumentNullException.ThrowIfNull(events);
        ArgumentNullException.ThrowIfNull(keep);
        (_plan, _events, _keep) = (plan, events, keep);
    }

    /// <summary>True while a recording is made.</summary>
    public bool IsRecording => _cut is not null;

    /// <summary>Events for which nothing was recorded any more, as those before them had used up the longest recording.</summary>
    public long EventsLeftOut { get; private set; }

    /// <summary>To be called some ten times a second.</summary>
    /// <param name="now">Monotonic time.</param>
    public void Step(TimeSpan now)
    {
        TakeEvents();
        while (_cut is not null && _cut.Follow(now))
        {
            Finish(_cut.To);
            TakeEvents();
        }
    }

    /// <summary>Ends what is in hand, as the supervisor ends.</summary>
    public void End(TimeSpan now)
    {
        Step(now);
        while (_cut is not null)
        {
            Finish(now);
            TakeEvents();
        }
    }

    private void TakeEvents()
    {
        while (TryNext(out var happened))
        {
            if (_cut is null)
            {
                Begin(happened);
            }
            else if (!_cut.TryExtend(happened))
            {
                // It is behind the end of the one in hand, which is finished first.
                _waiting = happened;
                return;
            }
            else
            {
                _lastEvent = happened.At;
            }
        }
    }

    private bool TryNext(out RecordingEvent happened)
    {
        if (_waiting is not { } waiting)
        {
            return _events.TryTake(out happened);
        }

        (happened, _waiting) = (waiting, null);
        return true;
    }

    private void Begin(in RecordingEvent happened)
    {
        var isNew = _lastEvent is not { } last || happened.At - last > _plan.Before + _plan.After;
        _lastEvent = happened.At;
        _room = isNew ? _plan.Longest : _room;
        var from = happened.At - _plan.Before;
        from = from > _keptTo ? from : _keptTo;
        from = from > TimeSpan.Zero ? from : TimeSpan.Zero;
        if (happened.At + _plan.After <= from)
        {
            // Told late: its samples are in the recording before.
            return;
        }

        if (_room <= TimeSpan.Zero)
        {
            EventsLeftOut++;
            return;
        }

        // With little room left what comes behind counts more than what was before.
        var fitting = happened.At + _plan.After - _room;
        from = fitting > from ? fitting : from;
        _cut = new Cut(_plan, _codec, happened, from, from + _room);
    }

    private void Finish(TimeSpan to)
    {
        var record = _cut!.End(to);
        _cut = null;
        _keptTo = record.To;
        _room -= record.To - record.From;
        _keep(record);
    }
}

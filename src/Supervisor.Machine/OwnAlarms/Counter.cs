using Supervisor.Configuration.Alarms;
using Supervisor.Runtime.Inputs;

namespace Supervisor.Machine.OwnAlarms;

/// <summary>One counter, with the edges of its input. What happened while its source was silent is not counted.</summary>
internal sealed class Counter(CounterDefinition definition, long count)
{
    private bool? _level;
    private TimeSpan _levelSince;

    /// <summary>The count.</summary>
    public long Count { get; private set; } = count;

    public CounterDefinition Definition => definition;

    public void Add(long by) => Count = by > long.MaxValue - Count ? long.MaxValue : Count + by;

    public void Reset() => Count = 0;

    /// <summary>Looks at its input.</summary>
    public void Step(in InputReading reading, TimeSpan now)
    {
        if (definition.Input is not { } input)
        {
            return;
        }

        if (reading.IsStale(now, input.StaleAfter))
        {
            _level = null;
            return;
        }

        if (_level is not { } level)
        {
            (_level, _levelSince) = (reading.Closed, reading.ChangedAt);
            return;
        }

        // It left its level and came back between two looks: one edge each way.
        var wasAway = reading.Closed == level && reading.ChangedAt != _levelSince && input.Settle == TimeSpan.Zero;
        if (wasAway)
        {
            _levelSince = reading.ChangedAt;
            Add(1);
        }
        else if (reading.Closed != level && now - reading.ChangedAt >= input.Settle)
        {
            (_level, _levelSince) = (reading.Closed, reading.ChangedAt);
            Add(reading.Closed == input.Closings ? 1 : 0);
        }
        else if (reading.Closed == level)
        {
            _levelSince = reading.ChangedAt;
        }
    }
}

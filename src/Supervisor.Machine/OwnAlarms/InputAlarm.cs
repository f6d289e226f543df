using Supervisor.Configuration.Alarms;
using Supervisor.Runtime.Inputs;

namespace Supervisor.Machine.OwnAlarms;

/// <summary>Whether an input raises its alarm: its level counts once it has lasted without a break, as its source stamped it.</summary>
internal sealed class InputAlarm(AlarmInput definition)
{
    /// <summary>A source that was never read is taken for silent only then: drives and modules are still being met.</summary>
    public static readonly TimeSpan FirstReading = TimeSpan.FromSeconds(5);

    private TimeSpan? _begunAt;
    private TimeSpan? _silentSince;
    private TimeSpan _heardSince;

    /// <summary>As of the last look.</summary>
    public bool IsRaised { get; private set; }

    /// <summary>Looks at the input.</summary>
    public void Step(in InputReading reading, TimeSpan now)
    {
        _begunAt ??= now;
        if (Level(reading, now) is not var (raises, since))
        {
            return;
        }

        var delay = raises ? definition.OnDelay : definition.OffDelay;
        if (raises != IsRaised && now - since >= delay)
        {
            IsRaised = raises;
        }
    }

    /// <summary>Whether its level raises the alarm, and since when without a break; null: it says nothing.</summary>
    private (bool Raises, TimeSpan Since)? Level(in InputReading reading, TimeSpan now)
    {
        if (!reading.IsStale(now, definition.StaleAfter))
        {
            if (_silentSince is not null)
            {
                // Nobody knows how long it had this level before.
                (_silentSince, _heardSince) = (null, now);
            }

            var since = reading.ChangedAt > _heardSince ? reading.ChangedAt : _heardSince;
            return (reading.Closed == definition.RaisedWhileClosed, since);
        }

        if (!reading.Known && now - _begunAt < FirstReading)
        {
            return null;
        }

        _silentSince ??= now;
        return definition.WhenSilent == SilentInput.Keep ? null : (definition.WhenSilent == SilentInput.Raise, _silentSince.Value);
    }
}

using Supervisor.Machine.Api;
using Supervisor.Records.Alarms;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Alarms;

/// <summary>One alarm as the coordinator keeps it. Written by <see cref="AlarmDesk"/> alone.</summary>
internal sealed class Alarm(AlarmKey key)
{
    private readonly Chatter _chatter = new();

    public AlarmKey Key { get; } = key;

    public FaultPriority Priority { get; set; }

    /// <summary>Its end needs a reset.</summary>
    public bool IsLatching { get; set; }

    public AlarmState State { get; private set; }

    /// <summary>What it is about beyond its number; may be empty.</summary>
    public string Detail { get; set; } = "";

    /// <summary>Since when it has been other than normal, or since its condition began anew after it had ended.</summary>
    public TimeSpan Since { get; set; }

    /// <summary>When its condition was last told.</summary>
    public TimeSpan LastAt { get; set; }

    /// <summary>When its condition ended; null while it stands.</summary>
    public TimeSpan? ReturnedAt { get; set; }

    /// <summary>How often its condition has been told since it was last normal.</summary>
    public long Occurrences { get; set; }

    /// <summary>Which occurrence of any alarm since the start its last one was, from 1; 0 while it has not occurred since then.</summary>
    public long Told { get; set; }

    /// <summary>Which occurrence of any alarm its last one was; they are numbered on over all runs.</summary>
    public long Occurrence { get; set; }

    /// <summary>Who acknowledged it; null while nobody has.</summary>
    public PersonsAct? Acknowledged { get; set; }

    /// <summary>Who took it out of service and why; null while it is in service.</summary>
    public OutOfService? OutOfService { get; set; }

    /// <summary>It stood at the end of an earlier run; whether it still does is not known yet.</summary>
    public bool IsRemembered { get; set; }

    /// <summary>When its source was first met after an earlier run; null while it was not.</summary>
    public TimeSpan? MetAt { get; set; }

    /// <summary>It comes and goes; see <see cref="Chatter"/>.</summary>
    public bool IsChattering => _chatter.IsChattering;

    /// <summary>It has stood for longer than <see cref="AlarmRules.StaleAfter"/>.</summary>
    public bool IsStale { get; private set; }

    /// <summary>What is shown of it; made anew when something changed.</summary>
    public AlarmStatus? Shown { get; set; }

    /// <summary>Nothing of it needs to be kept.</summary>
    public bool IsForgettable(TimeSpan now) => State == AlarmState.Normal && !_chatter.Remembers(now);

    /// <summary>Goes where the table says; false where the event means nothing.</summary>
    public bool TryGo(AlarmEvent @event)
    {
        if (AlarmTable.After(State, @event) is not { } next)
        {
            return false;
        }

        State = next;
        return true;
    }

    /// <summary>Takes up what an earlier run left.</summary>
    public void Restore(AlarmStatus left)
    {
        (State, Priority, IsLatching, Detail) = (left.State, left.Priority, left.IsLatching, left.Detail);
        (Since, LastAt, ReturnedAt) = (left.Since, left.LastAt, left.ReturnedAt);
        (Occurrences, Occurrence, Acknowledged, OutOfService) = (left.Occurrences, left.Occurrence, left.Acknowledged, left.OutOfService);
        IsRemembered = true;
    }

    public void NoteOccurrence(TimeSpan at) => _chatter.Note(at);

    /// <summary>Looks at the time; true when it began or ended to chatter or to be stale.</summary>
    public bool Look(TimeSpan now)
    {
        var stale = !State.IsShelved() && (State.IsActive() || State.IsLatched()) && now - Since >= AlarmRules.StaleAfter;
        var changed = _chatter.Look(now) | (stale != IsStale);
        IsStale = stale;
        return changed;
    }

    /// <summary>When the next look can find something else; <see cref="TimeSpan.MaxValue"/>: never by time alone.</summary>
    public TimeSpan NextLook(TimeSpan now)
    {
        if (IsForgettable(now))
        {
            return now;
        }

        var next = _chatter.NextLook(now);
        if (!IsStale && !State.IsShelved() && (State.IsActive() || State.IsLatched()) && Since + AlarmRules.StaleAfter < next)
        {
            next = Since + AlarmRules.StaleAfter;
        }

        return OutOfService is { } shelf && shelf.Until < next ? shelf.Until : next;
    }
}

/// <summary>What a person did, and when.</summary>
/// <param name="By">Name they gave.</param>
/// <param name="At">Monotonic time.</param>
public sealed record PersonsAct(string By, TimeSpan At);

/// <summary>An alarm out of service.</summary>
/// <param name="By">Name of who took it out.</param>
/// <param name="Reason">Why.</param>
/// <param name="At">Monotonic time.</param>
/// <param name="Until">Monotonic time at which it returns by itself.</param>
public sealed record OutOfService(string By, string Reason, TimeSpan At, TimeSpan Until);

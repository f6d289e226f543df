using Supervisor.Machine.Api;
using Supervisor.Records.Alarms;
using Supervisor.Records.Faults;

namespace Supervisor.Machine.Alarms;

/// <summary>
/// Keeps every alarm that is not normal: what stands, who knows of it, what is out of service and until when, what chatters and what is stale. It calls
/// nobody, stops nothing and permits nothing.
/// </summary>
/// <remarks>On the coordinator's thread, but for <see cref="List"/>. Nothing is allocated while nothing happens.</remarks>
internal sealed partial class AlarmDesk(IJournal journal)
{
    private readonly Dictionary<AlarmKey, Alarm> _byKey = [];
    private readonly List<Alarm> _alarms = [];
    private volatile AlarmList _list = AlarmList.Empty;
    private TimeSpan _now;
    private TimeSpan _nextLook = TimeSpan.MaxValue;
    private TimeSpan? _publishedAt;
    private long _version;
    private long _notKept;
    private long _told;
    private long _occurrence;

    /// <summary>All that are kept, in no order; also some that are normal again and may chatter. Read it by index: nothing is allocated.</summary>
    public IReadOnlyList<Alarm> Kept => _alarms;

    /// <summary>Rises with every change of an alarm.</summary>
    public long Version => _version;

    /// <summary>What faces are shown. Any thread.</summary>
    public AlarmList List => _list;

    /// <summary>Somebody waits for what changed: it is published with this step.</summary>
    public bool IsAwaited { get; set; }

    /// <summary>The alarm of a key; null while it is normal and nothing of it is kept.</summary>
    public Alarm? Find(AlarmKey key) => _byKey.GetValueOrDefault(key);

    /// <summary>
    /// The condition of an alarm stands. While it is known to stand already, this changes nothing: it may be called with every look at the condition.
    /// </summary>
    /// <param name="key">Which.</param>
    /// <param name="priority">How urgent it is.</param>
    /// <param name="isLatching">Once the condition has ended, it waits for <see cref="Reset"/>.</param>
    /// <param name="detail">What it is about beyond its number.</param>
    public void Raise(AlarmKey key, FaultPriority priority, bool isLatching = false, string detail = "")
    {
        if (Find(key) is { } standing && standing.State.IsActive())
        {
            standing.IsRemembered = false;
            return;
        }

        Occur(key, priority, isLatching, detail, _now);
    }

    /// <summary>The condition of an alarm has ended; means nothing where it does not stand.</summary>
    public void Clear(AlarmKey key)
    {
        if (Find(key) is { } alarm && alarm.State.IsActive())
        {
            alarm.TryGo(alarm.IsLatching ? AlarmEvent.ClearsLatched : AlarmEvent.Clears);
            alarm.ReturnedAt = _now;
            alarm.IsRemembered = false;
            if (key.IsOwn)
            {
                journal.Alarm(new AlarmNote(_now, key, AlarmChange.Cleared, "", alarm.Detail, null));
            }

            Changed(alarm);
        }
    }

    /// <summary>What an alarm had latched was reset; means nothing while its condition stands. No acknowledgement: see <see cref="AlarmTable"/>.</summary>
    public void Reset(AlarmKey key)
    {
        if (Find(key) is { } alarm && alarm.TryGo(AlarmEvent.Reset))
        {
            Changed(alarm);
        }
    }

    /// <summary>A condition was told, though it may stand already: a person who knew of it is asked anew.</summary>
    /// <param name="key">Which.</param>
    /// <param name="priority">How urgent it is.</param>
    /// <param name="isLatching">Once the condition has ended, it waits for <see cref="Reset"/>.</param>
    /// <param name="detail">What it is about beyond its number.</param>
    /// <param name="at">Monotonic time.</param>
    public void Occur(AlarmKey key, FaultPriority priority, bool isLatching, string detail, TimeSpan at)
    {
        if ((Find(key) ?? Add(key, priority)) is not { } alarm)
        {
            return;
        }

        (alarm.Priority, alarm.IsLatching, alarm.Detail) = (priority, isLatching, detail);
        if (alarm.IsRemembered && alarm.State.IsActive() && (alarm.MetAt is not { } met || at - met < AlarmRules.SameAfterStart))
        {
            alarm.IsRemembered = false;
            alarm.LastAt = at;
            Changed(alarm);
            return;
        }

        if (alarm.State is AlarmState.Normal or AlarmState.ShelvedNormal)
        {
            alarm.Occurrences = 0;
        }

        if (!alarm.State.IsActive())
        {
            alarm.Since = at;
        }

        alarm.TryGo(AlarmEvent.Occurs);
        alarm.NoteOccurrence(at);
        (alarm.LastAt, alarm.ReturnedAt, alarm.Acknowledged, alarm.IsRemembered) = (at, null, null, false);
        alarm.Occurrences++;
        alarm.Told = ++_told;
        alarm.Occurrence = ++_occurrence;
        if (key.IsOwn)
        {
            journal.Alarm(new AlarmNote(at, key, AlarmChange.Raised, "", detail, null));
        }

        Changed(alarm);
    }

    /// <summary>Before anybody raises or clears in this step.</summary>
    public void Begin(TimeSpan now) => _now = now;

    /// <summary>Looks at the time, and publishes what changed. Once a step, after all who raise and clear.</summary>
    public void End()
    {
        var now = _now;
        if (now >= _nextLook)
        {
            LookAtAll();
        }

        if (_version != _list.Version && (IsAwaited || _publishedAt is not { } last || now - last >= AlarmRules.PublishInterval))
        {
            Publish();
        }
    }

    /// <summary>One more that is kept; null where there is no room for one of that priority.</summary>
    private Alarm? Add(AlarmKey key, FaultPriority priority)
    {
        if (!TryMakeRoom(priority))
        {
            return null;
        }

        var alarm = new Alarm(key);
        _byKey.Add(key, alarm);
        _alarms.Add(alarm);
        return alarm;
    }

    private void Changed(Alarm alarm)
    {
        _version++;
        alarm.Shown = null;
        alarm.Look(_now);
        var next = alarm.NextLook(_now);
        _nextLook = next < _nextLook ? next : _nextLook;
    }

    private void LookAtAll()
    {
        _nextLook = TimeSpan.MaxValue;
        for (var i = _alarms.Count - 1; i >= 0; i--)
        {
            var alarm = _alarms[i];
            EndShelf(alarm);
            if (alarm.Look(_now))
            {
                _version++;
                alarm.Shown = null;
            }

            if (alarm.IsForgettable(_now))
            {
                Forget(i);
                continue;
            }

            var next = alarm.NextLook(_now);
            _nextLook = next < _nextLook ? next : _nextLook;
        }
    }

    private void Forget(int index)
    {
        _byKey.Remove(_alarms[index].Key);
        _alarms[index] = _alarms[^1];
        _alarms.RemoveAt(_alarms.Count - 1);
    }

    /// <summary>Room for one more: what is normal goes first, then what has returned, then the least urgent; a more urgent one is never given up for it.</summary>
    private bool TryMakeRoom(FaultPriority priority)
    {
        if (_alarms.Count < AlarmRules.MostKept)
        {
            return true;
        }

        var worst = 0;
        for (var i = 1; i < _alarms.Count; i++)
        {
            worst = Worth(_alarms[i]).CompareTo(Worth(_alarms[worst])) < 0 ? i : worst;
        }

        var given = _alarms[worst];
        if (given.State != AlarmState.Normal)
        {
            _notKept++;
            _version++;
            if (given.State.IsShelved() || (given.State != AlarmState.ReturnedUnacknowledged && given.Priority >= priority))
            {
                return false;
            }
        }

        Forget(worst);
        return true;

        static (bool, bool, bool, FaultPriority, TimeSpan) Worth(Alarm alarm) => (
            alarm.State != AlarmState.Normal, alarm.State.IsShelved(), alarm.State != AlarmState.ReturnedUnacknowledged, alarm.Priority, alarm.LastAt);
    }

    private void Publish()
    {
        (_publishedAt, IsAwaited) = (_now, false);
        var shown = new List<AlarmStatus>(_alarms.Count);
        foreach (var alarm in _alarms)
        {
            if (alarm.State != AlarmState.Normal || alarm.IsChattering)
            {
                shown.Add(alarm.Shown ??= StatusOf(alarm));
            }
        }

        shown.Sort(Gravest);
        _list = new AlarmList(_version, shown, _notKept);
    }

    private static AlarmStatus StatusOf(Alarm alarm) => new(alarm.Key, alarm.State, alarm.Priority, alarm.Since, alarm.LastAt, alarm.Occurrences)
    {
        Occurrence = alarm.Occurrence,
        Detail = alarm.Detail,
        IsLatching = alarm.IsLatching,
        ReturnedAt = alarm.ReturnedAt,
        Acknowledged = alarm.Acknowledged,
        OutOfService = alarm.OutOfService,
        IsChattering = alarm.IsChattering,
        IsStale = alarm.IsStale,
    };

    private static int Gravest(AlarmStatus one, AlarmStatus other)
    {
        var order = Rank(one).CompareTo(Rank(other));
        order = order != 0 ? order : other.Priority.CompareTo(one.Priority);
        return order != 0 ? order : other.Occurrence.CompareTo(one.Occurrence);

        static int Rank(AlarmStatus alarm) => alarm.State.IsShelved() ? 4
            : alarm.State == AlarmState.Normal ? 3
            : !alarm.State.IsUnacknowledged() ? 2
            : alarm.State == AlarmState.ReturnedUnacknowledged ? 1
            : 0;
    }
}

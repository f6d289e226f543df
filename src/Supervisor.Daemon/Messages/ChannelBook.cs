using Supervisor.History.Clocks;
using Supervisor.History.Outbox;

namespace Supervisor.Daemon.Messages;

/// <summary>What a channel knows of its messages, as they stand in the file.</summary>
/// <param name="bootId">Identity of this boot.</param>
internal sealed class ChannelBook(string bootId)
{
    private const int MostOpen = 64, MostEnded = 1_000;
    private const int CausesRemembered = 500;

    private readonly List<OutboxMessage> _waiting = [];
    private readonly List<TimeSpan> _sent = [];
    private readonly Dictionary<string, TimeSpan> _told = new(StringComparer.Ordinal);
    private readonly List<OutboxMessage> _open = [];
    private readonly HashSet<long> _ended = [];
    private readonly Dictionary<long, int> _tries = [];

    /// <summary>Incidents up to this number have been looked at.</summary>
    public long Through { get; private set; }

    /// <summary>What is to be sent.</summary>
    public IReadOnlyList<OutboxMessage> Waiting => _waiting;

    /// <summary>Messages of incidents that were sent and whose end is to be told.</summary>
    public IReadOnlyList<OutboxMessage> Open => _open;

    /// <summary>Messages sent since the start.</summary>
    public long Sent { get; private set; }

    /// <summary>Messages refused since the start.</summary>
    public long GivenUp { get; private set; }

    /// <summary>Takes in what the file says.</summary>
    public void Load(OutboxLook look, in ClockReading now, bool tellsEnd)
    {
        _waiting.Clear();
        _sent.Clear();
        _told.Clear();
        _open.Clear();
        Through = look.Through;
        _waiting.AddRange(look.Waiting);
        _ended.Clear();
        _ended.UnionWith(look.Waiting.Concat(look.Done).Where(message => message.Kind == OutboxKind.End).Select(message => message.Incident ?? 0));
        foreach (var message in look.Done.Reverse())
        {
            Remember(message, now.Monotonic - message.Done!.Value.Age(bootId, now), tellsEnd);
        }
    }

    /// <summary>Takes in a change that was stored.</summary>
    public void Take(OutboxChange change, in ClockReading now, bool tellsEnd)
    {
        Through = Math.Max(Through, change.Through ?? 0);
        _ended.UnionWith(change.Messages.Where(message => message.Kind == OutboxKind.End).Select(message => message.Incident ?? 0));
        foreach (var message in change.Messages)
        {
            _waiting.RemoveAll(each => each.Number == message.Number);
            if (message.State == OutboxState.Waiting)
            {
                _waiting.Add(message);
                continue;
            }

            _tries.Remove(message.Number);
            Sent += message.State == OutboxState.Sent ? 1 : 0;
            GivenUp += message.State == OutboxState.Refused ? 1 : 0;
            Remember(message, now.Monotonic, tellsEnd);
        }
    }

    /// <summary>An attempt failed; it counts against the message where the server had it in hand.</summary>
    public void Tried(OutboxMessage message, bool isOfMessage) => _tries[message.Number] = _tries.GetValueOrDefault(message.Number) + (isOfMessage ? 1 : 0);

    /// <summary>No end is to be told of an incident any more.</summary>
    public void Close(OutboxMessage told) => _open.RemoveAll(each => each.Number == told.Number);

    /// <summary>What waits, with what is about to be stored.</summary>
    public IReadOnlyList<DeliveryPlan.Waiting> AsPlanned(IReadOnlyList<OutboxMessage> added, ClockReading now) =>
        [.. _waiting.Concat(added).Select(message => new DeliveryPlan.Waiting(message, message.Made.Age(bootId, now), _tries.GetValueOrDefault(message.Number)))];

    /// <summary>Messages of the last hour.</summary>
    public int Used(TimeSpan now)
    {
        _sent.RemoveAll(at => now - at >= DeliveryPlan.Hour);
        return _sent.Count;
    }

    /// <summary>Whether a cause was told within the last hour.</summary>
    public bool WasTold(string cause, TimeSpan now) => _told.TryGetValue(cause, out var at) && now - at < DeliveryPlan.Hour;

    /// <summary>How long the oldest message has waited; null when none waits.</summary>
    public TimeSpan? OldestFor(in ClockReading now)
    {
        TimeSpan? oldest = null;
        foreach (var message in _waiting)
        {
            var age = message.Made.Age(bootId, now);
            oldest = oldest > age ? oldest : age;
        }

        return oldest;
    }

    private void Remember(OutboxMessage message, TimeSpan at, bool mayOpen)
    {
        if (message.State is OutboxState.Sent)
        {
            _sent.Add(at);
        }

        if (message is { State: OutboxState.Sent or OutboxState.InSummary, Kind: OutboxKind.Incident })
        {
            if (_told.Count >= CausesRemembered)
            {
                _told.Remove(_told.MinBy(pair => pair.Value).Key);
            }

            _told[message.Cause] = at;
        }

        if (mayOpen && message is { State: OutboxState.Sent, Kind: OutboxKind.Incident, Incident: { } incident } && !_ended.Contains(incident))
        {
            _open.Add(message);
            if (_open.Count > MostOpen)
            {
                _open.RemoveAt(0);
            }
        }

        if (_ended.Count > MostEnded)
        {
            _ended.Remove(_ended.Min());
        }
    }
}

using Supervisor.Configuration.Machines.Messages;
using Supervisor.Daemon.Messages;
using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Outbox;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Tests.Messages;

/// <summary>
/// One channel in simulated time: incidents that happen, an outbox that commits a moment later and keeps only what it has committed, a network that is down, slow, or
/// breaks after the server has taken a message, and a process that is killed at any instant. All of it by seed.
/// </summary>
internal sealed class ChannelWorld : IOutbox, INews, IMessageWriter, IDelivery
{
    private static readonly DateTimeOffset Midnight = new(2031, 5, 6, 0, 0, 0, TimeSpan.Zero);

    private readonly Random _draw;
    private readonly MessageChannel _channel;
    private readonly SortedDictionary<long, Happened> _incidents = [];
    private readonly Dictionary<long, OutboxMessage> _rows = [];
    private readonly List<(OutboxChange Change, TaskCompletionSource<bool> Done, TimeSpan At)> _changes = [];
    private readonly List<(OutboxMessage Message, TaskCompletionSource<DeliveryResult> Done, TimeSpan At)> _flights = [];
    private readonly HashSet<string> _storedAsSent = [];
    private string? _sentAgain;
    private ChannelSteps _steps;
    private long _through;
    private int _written;
    private int _boot = 1;
    private TimeSpan _bootedAt;

    public ChannelWorld(int seed, int perHour = 12, bool tellsEnd = false, FaultPriority least = FaultPriority.Low)
    {
        _draw = new Random(seed);
        _channel = new MessageChannel("night", least, perHour, TimeSpan.FromSeconds(10), tellsEnd, "en") { Webhook = new WebhookDefinition() };
        _steps = New();
    }

    /// <summary>Time since the beginning.</summary>
    public TimeSpan Now { get; private set; }

    public bool IsNetworkDown { get; set; }

    /// <summary>How often a server takes a message and breaks before it says so.</summary>
    public double BreaksAfter { get; set; }

    /// <summary>How often a commit is lost with the process, though it is in the file.</summary>
    public double UnheardCommits { get; set; }

    /// <summary>Asked for by the server at a time-out of its own; null: it is well.</summary>
    public TimeSpan? Busy { get; set; }

    /// <summary>A server that refuses everything for good.</summary>
    public bool Refuses { get; set; }

    /// <summary>A planted bug: what was sent is not kept.</summary>
    public bool ForgetsSent { get; set; }

    /// <summary>A planted bug: one in so many messages is not kept.</summary>
    public int DropsOneIn { get; set; }

    /// <summary>What the server took: identity, words, when, and whether it said so.</summary>
    public List<(string Identity, string Body, TimeSpan At, bool IsSaid)> Taken { get; } = [];

    public int Attempts { get; private set; }

    public List<(NoticeKind Kind, string Text)> Notices { get; } = [];

    public ChannelStatus Status => _steps.Status;

    public IEnumerable<OutboxMessage> Rows => _rows.Values;

    public long Version { get; private set; }

    private TimeSpan Monotonic => TimeSpan.FromSeconds(100) + Now - _bootedAt;

    /// <summary>An incident happens.</summary>
    public long Happens(string cause = "fault 1 dibber", FaultPriority priority = FaultPriority.Low, bool isSilent = false)
    {
        var number = (_incidents.Count == 0 ? 0 : _incidents.Keys.Last()) + 3;
        _incidents[number] = new Happened(Now, (int)priority, cause, isSilent);
        Version++;
        return number;
    }

    /// <summary>Every axis of an incident is back.</summary>
    public void ComesBack(long incident)
    {
        _incidents[incident] = _incidents[incident] with { IsBack = true };
        Version++;
    }

    /// <summary>Lets time pass.</summary>
    public void Run(TimeSpan time, TimeSpan? step = null)
    {
        for (var until = Now + time; Now < until;)
        {
            Now += step ?? TimeSpan.FromSeconds(1);
            Settle();
            _steps.Step();
        }
    }

    /// <summary>The process is killed; another begins, in a new boot of the board where wanted.</summary>
    public void Kill(bool restartsBoard = false)
    {
        foreach (var (change, _, _) in _changes)
        {
            if (_draw.NextDouble() < UnheardCommits)
            {
                Commit(change);
            }
        }

        _changes.Clear();

        // What is on the wire may still arrive.
        foreach (var (message, _, _) in _flights)
        {
            if (!IsNetworkDown && _draw.NextDouble() < 0.5)
            {
                Taken.Add((message.Identity, message.Content!.Body, Now, false));
            }
        }

        _flights.Clear();
        if (restartsBoard)
        {
            _boot++;
            _bootedAt = Now;
        }

        _steps = New();
    }

    /// <summary>What is wrong with what arrived; null when nothing is.</summary>
    public string? Judge()
    {
        if (_sentAgain is { } again)
        {
            return $"{again} was sent again although it was stored as sent";
        }

        foreach (var same in Taken.GroupBy(taken => taken.Identity))
        {
            if (same.Select(taken => taken.Body).Distinct().Count() > 1)
            {
                return $"{same.Key} arrived in different words";
            }
        }

        foreach (var (number, incident) in _incidents)
        {
            var told = Taken.Where(taken => Tells(taken.Body, number)).Select(taken => taken.Identity).Distinct().Count();
            var wanted = incident.IsSilent || incident.Priority < (int)_channel.LeastPriority ? 0 : 1;
            if (told != wanted)
            {
                return $"incident {number} was told by {told} messages, not {wanted}";
            }
        }

        var done = _rows.Values.Where(row => row.State == OutboxState.Sent).Select(row => row.Done!.Value.Clock.Utc).Order().ToArray();
        for (var i = _channel.PerHour; i < done.Length; i++)
        {
            if (done[i] - done[i - _channel.PerHour] < DeliveryPlan.Hour - TimeSpan.FromSeconds(2))
            {
                return $"more than {_channel.PerHour} messages in the hour before {done[i]:T}";
            }
        }

        return null;
    }

    public static bool Tells(string body, long incident) => body.Split(' ').Contains($"#{incident}");

    OutboxLook? IOutbox.Look(string channel, int done) => new(
        _through, _rows.Count == 0 ? 0 : _rows.Keys.Max(),
        [.. _rows.Values.Where(row => row.State == OutboxState.Waiting).OrderBy(row => row.Number)],
        [.. _rows.Values.Where(row => row.State != OutboxState.Waiting).OrderByDescending(row => row.Number).Take(done)]);

    Task<bool> IOutbox.ChangeAsync(OutboxChange change)
    {
        var done = new TaskCompletionSource<bool>();
        _changes.Add((change, done, Now + TimeSpan.FromSeconds(_draw.Next(0, 3))));
        return done.Task;
    }

    IReadOnlyList<News> INews.After(long incident, int limit, TimeSpan settle, in ClockReading now)
    {
        var found = new List<News>();
        foreach (var (number, happened) in _incidents.Where(pair => pair.Key > incident).Take(limit))
        {
            found.Add(NewsOf(number, happened, Now - happened.At >= settle));
            if (!found[^1].IsSettled)
            {
                break;
            }
        }

        return found;
    }

    News? INews.Of(long incident, in ClockReading now) => _incidents.TryGetValue(incident, out var happened) ? NewsOf(incident, happened, true) : null;

    OutboxContent IMessageWriter.Write(OutboxMessage message, in ClockReading now) =>
        new("title", message.Kind == OutboxKind.End ? $"over ##{message.Incident} version {++_written}" : $"incident #{message.Incident} version {++_written}", null);

    OutboxContent IMessageWriter.Write(OutboxMessage summary, IReadOnlyList<OutboxMessage> told, in ClockReading now) =>
        new("title", $"summary {string.Join(' ', told.Where(each => each.Kind == OutboxKind.Incident).Select(each => $"#{each.Incident}"))} version {++_written}", null);

    Task<DeliveryResult> IDelivery.SendAsync(OutboxMessage message, CancellationToken cancellation)
    {
        Attempts++;
        Assert.NotNull(message.Content);
        Assert.Equal(message, _rows[message.Number]);
        _sentAgain ??= _storedAsSent.Contains(message.Identity) ? message.Identity : null;
        var done = new TaskCompletionSource<DeliveryResult>();
        _flights.Add((message, done, Now + TimeSpan.FromSeconds(_draw.Next(0, 5))));
        return done.Task;
    }

    private ChannelSteps New() => new(
        _channel, new ChannelParts($"boot-{_boot}", Clock, this, this, this, this, new MessageNumbers(), () => $"identity-{_draw.NextInt64()}", (kind, text) => Notices.Add((kind, text))));

    private ClockReading Clock() => new(Monotonic, Midnight + Now, UtcQuality.Synchronised);

    private static News NewsOf(long number, Happened happened, bool isSettled) =>
        new(number, happened.Priority, happened.Cause, isSettled, happened.IsBack ? NewsStanding.Back : NewsStanding.Standing) { IsSilent = happened.IsSilent };

    private void Settle()
    {
        foreach (var change in _changes.Where(change => change.At <= Now).ToArray())
        {
            _changes.Remove(change);
            Commit(change.Change);
            change.Done.SetResult(true);
        }

        foreach (var flight in _flights.Where(flight => flight.At <= Now).ToArray())
        {
            _flights.Remove(flight);
            flight.Done.SetResult(Answer(flight.Message));
        }
    }

    private DeliveryResult Answer(OutboxMessage message)
    {
        if (IsNetworkDown)
        {
            return new DeliveryResult(DeliveryOutcome.NotNow, "no route to host.");
        }

        if (Busy is { } busy)
        {
            return new DeliveryResult(DeliveryOutcome.NotNow, "HTTP 429.", busy, IsOfMessage: true);
        }

        if (Refuses)
        {
            return new DeliveryResult(DeliveryOutcome.Refused, "HTTP 404.");
        }

        var isSaid = _draw.NextDouble() >= BreaksAfter;
        Taken.Add((message.Identity, message.Content!.Body, Now, isSaid));
        return isSaid ? new DeliveryResult(DeliveryOutcome.Taken, "250 taken") : new DeliveryResult(DeliveryOutcome.NotNow, "the connection broke.", IsOfMessage: true);
    }

    private void Commit(OutboxChange change)
    {
        _through = Math.Max(_through, change.Through ?? 0);
        _storedAsSent.UnionWith(change.Messages.Where(message => message.State == OutboxState.Sent).Select(message => message.Identity));
        foreach (var message in change.Messages)
        {
            if ((ForgetsSent && message.State == OutboxState.Sent) || (DropsOneIn > 0 && message.Content is null && message.Number % DropsOneIn == 0))
            {
                continue;
            }

            _rows[message.Number] = message;
        }
    }

    private sealed record Happened(TimeSpan At, int Priority, string Cause, bool IsSilent, bool IsBack = false);
}

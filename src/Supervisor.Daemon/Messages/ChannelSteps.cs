using Supervisor.Configuration.Machines.Messages;
using Supervisor.History.Clocks;
using Supervisor.History.Entries;
using Supervisor.History.Outbox;

namespace Supervisor.Daemon.Messages;

/// <summary>
/// One channel as a step machine without thread, wait or clock of its own: looks for incidents that are to be told, puts a message for each into the outbox,
/// sends one at a time, and notes what became of it. Nothing is sent that is not stored, and nothing is stored as sent that the server has not taken: a process
/// that is killed in between sends the same message again, with the same identity and the same words.
/// </summary>
/// <param name="channel">What the machine file says.</param>
/// <param name="parts">What it works with.</param>
internal sealed class ChannelSteps(MessageChannel channel, ChannelParts parts) : IDisposable
{
    /// <summary>Messages that may wait; further incidents stay where they are until there is room.</summary>
    public const int MostWaiting = 2_000;

    /// <summary>Longest time of one attempt.</summary>
    public static readonly TimeSpan LongestAttempt = TimeSpan.FromSeconds(60);

    private const int LookAhead = 16;
    private const int DoneRead = 200;
    private static readonly TimeSpan LookInterval = TimeSpan.FromSeconds(1);

    private readonly ChannelBook _book = new(parts.BootId);
    private readonly ChannelTrouble _trouble = new(channel.Name, parts.Tell);
    private bool _isLoaded;
    private long _seen = -1;
    private TimeSpan _lookedAt = TimeSpan.MinValue;
    private bool _isUnsettled;
    private OutboxChange? _storing;
    private Task<bool>? _stored;
    private OutboxMessage? _next;
    private OutboxMessage? _trying;
    private Task<DeliveryResult>? _attempt;
    private CancellationTokenSource? _limit;
    private TimeSpan _attemptUntil;
    private TimeSpan _notBefore = TimeSpan.MinValue;
    private bool _isHeld;

    /// <summary>How it fares. Any thread.</summary>
    public ChannelStatus Status { get; private set; } = ChannelStatus.Unknown(channel.Name, KindOf(channel));

    /// <summary>True while an attempt or a change is on its way.</summary>
    public bool IsBusy => _attempt is not null || _stored is not null;

    /// <summary>Does the next thing, or nothing.</summary>
    /// <param name="mayBegin">False: only what is on its way is brought to its end.</param>
    public void Step(bool mayBegin = true)
    {
        var now = parts.Clock();
        if (_stored is not null)
        {
            Stored(now);
        }

        if (_attempt is not null)
        {
            Attempted(now);
        }

        if (!IsBusy && mayBegin)
        {
            Begin(now);
        }

        Status = new ChannelStatus(
            channel.Name, KindOf(channel), _book.Waiting.Count, _book.OldestFor(now), _trouble.FailingFor(now.Monotonic), _trouble.Problem, _book.Sent, _book.GivenUp, _isHeld,
            now.Monotonic);
    }

    /// <summary>Gives up the attempt that is on its way.</summary>
    public void Cancel() => _limit?.Cancel();

    /// <inheritdoc/>
    public void Dispose() => _limit?.Dispose();

    /// <summary>Word of the way it goes.</summary>
    public static string KindOf(MessageChannel channel) => channel.Email is not null ? "email" : "webhook";

    private void Begin(in ClockReading now)
    {
        if (!_isLoaded)
        {
            if (parts.Outbox.Look(channel.Name, DoneRead) is not { } look)
            {
                return;
            }

            _book.Load(look, now, channel.TellsEnd);
            parts.Numbers.Seen(look.LastNumber);
            _isLoaded = true;
        }

        var (change, at) = (Look(now), now.Monotonic);
        var chosen = at < _notBefore ? [] : DeliveryPlan.Choose(_book.AsPlanned(change.Messages, now), _book.Used(at), channel.PerHour, cause => _book.WasTold(cause, at));
        _isHeld = chosen.Count == 0 && _book.Waiting.Count > 0 && at >= _notBefore;
        (change, _next) = Write(change, chosen, now);
        if (!change.IsEmpty)
        {
            (_storing, _stored) = (change, parts.Outbox.ChangeAsync(change));
            return;
        }

        Send(now);
    }

    /// <summary>What is new: a message for each settled incident that is to be told, and for each end.</summary>
    private OutboxChange Look(in ClockReading now)
    {
        var change = new OutboxChange(channel.Name);
        var version = parts.News.Version;
        if (_book.Waiting.Count >= MostWaiting || (version == _seen && !_isUnsettled) || (_lookedAt > TimeSpan.MinValue && now.Monotonic - _lookedAt < LookInterval))
        {
            return change;
        }

        var found = parts.News.After(_book.Through, LookAhead, channel.Settle, now);
        var settled = found.TakeWhile(news => news.IsSettled).ToArray();
        _isUnsettled = settled.Length < found.Count || found.Count == LookAhead;
        (_seen, _lookedAt) = (version, now.Monotonic);
        var made = new OutboxStamp(parts.BootId, now);
        var messages = settled.Where(news => news.Priority >= (int)channel.LeastPriority && !news.IsSilent).Select(news => new OutboxMessage(
            parts.Numbers.Next(), channel.Name, OutboxKind.Incident, parts.NewIdentity())
        {
            Incident = news.Incident, Priority = news.Priority, Cause = news.Cause, Made = made,
        }).ToList();
        messages.AddRange(Ends(now, made));
        return settled.Length == 0 && messages.Count == 0 ? change : change with { Through = settled.Length > 0 ? settled[^1].Incident : null, Messages = messages };
    }

    private IEnumerable<OutboxMessage> Ends(ClockReading now, OutboxStamp made)
    {
        foreach (var told in _book.Open.ToArray())
        {
            var news = parts.News.Of(told.Incident!.Value, now);
            if (news is null or { Standing: not NewsStanding.Standing })
            {
                _book.Close(told);
            }

            if (news is { Standing: NewsStanding.Back })
            {
                yield return new OutboxMessage(parts.Numbers.Next(), channel.Name, OutboxKind.End, MessageIdentity.OfEnd(told.Identity))
                {
                    Incident = told.Incident, Priority = told.Priority, Cause = told.Cause, Made = made,
                };
            }
        }
    }

    /// <summary>Puts what is to be sent into words where it has none yet.</summary>
    private (OutboxChange Change, OutboxMessage? Next) Write(OutboxChange change, IReadOnlyList<DeliveryPlan.Waiting> chosen, in ClockReading now)
    {
        if (chosen.Count == 0)
        {
            return (change, null);
        }

        if (chosen.Count == 1)
        {
            var only = chosen[0].Message;
            if (only.Content is not null)
            {
                return (change, only);
            }

            only = only with { Content = parts.Writer.Write(only, now) };
            change = change with { Messages = [.. change.Messages.Where(message => message.Number != only.Number), only] };
            return (ToldAsOver(only, now) is { } end ? change with { Messages = [.. change.Messages, end] } : change, only);
        }

        var done = new OutboxStamp(parts.BootId, now);
        var told = chosen.Select(each => each.Message).ToArray();
        var summary = new OutboxMessage(parts.Numbers.Next(), channel.Name, OutboxKind.Summary, parts.NewIdentity()) { Priority = told.Max(each => each.Priority), Made = done };
        summary = summary with { Content = parts.Writer.Write(summary, told, now) };
        var inside = told.Select(each => each with { State = OutboxState.InSummary, Summary = summary.Number, Done = done });
        return (change with { Messages = [.. change.Messages.ExceptBy(told.Select(each => each.Number), message => message.Number), .. inside, summary] }, summary);
    }

    /// <summary>An incident that is over by the time it is put into words says so itself: its end is noted as told within it.</summary>
    private OutboxMessage? ToldAsOver(OutboxMessage message, in ClockReading now) =>
        channel.TellsEnd && message is { Kind: OutboxKind.Incident, Incident: { } incident } && parts.News.Of(incident, now) is { Standing: NewsStanding.Back }
            ? new OutboxMessage(parts.Numbers.Next(), channel.Name, OutboxKind.End, MessageIdentity.OfEnd(message.Identity))
            {
                Incident = incident, Priority = message.Priority, Cause = message.Cause, State = OutboxState.InSummary, Summary = message.Number,
                Made = new OutboxStamp(parts.BootId, now), Done = new OutboxStamp(parts.BootId, now),
            }
            : null;

    private void Stored(in ClockReading now)
    {
        if (!_stored!.IsCompleted)
        {
            return;
        }

        var isStored = _stored is { IsCompletedSuccessfully: true, Result: true };
        var change = _storing!;
        (_stored, _storing) = (null, null);
        if (!isStored)
        {
            // What is in the file counts.
            (_isLoaded, _next, _seen) = (false, null, -1);
            return;
        }

        _book.Take(change, now, channel.TellsEnd);
        _seen = channel.TellsEnd ? -1 : _seen;
        Send(now);
    }

    private void Send(in ClockReading now)
    {
        if (_next is not { } message)
        {
            return;
        }

        _next = null;
        _limit = new CancellationTokenSource();
        _attemptUntil = now.Monotonic + LongestAttempt;
        _trying = message;
        _attempt = parts.Delivery.SendAsync(message, _limit.Token);
    }

    private void Attempted(in ClockReading now)
    {
        if (!_attempt!.IsCompleted)
        {
            if (now.Monotonic >= _attemptUntil)
            {
                _limit!.Cancel();
            }

            return;
        }

        var result = _attempt.IsCompletedSuccessfully ? _attempt.Result : new DeliveryResult(DeliveryOutcome.NotNow, "the attempt ended by an error of its own");
        var message = _trying!;
        _limit!.Dispose();
        (_attempt, _limit, _trying) = (null, null, null);
        switch (result.Outcome)
        {
            case DeliveryOutcome.Taken:
                _trouble.Through(now.Monotonic);
                break;
            case DeliveryOutcome.Refused:
                _notBefore = now.Monotonic + _trouble.Refused(message, result, now.Monotonic);
                break;
            default:
                _notBefore = now.Monotonic + _trouble.NotNow(result, now.Monotonic);
                _book.Tried(message, result.IsOfMessage);
                return;
        }

        var ended = message with
        {
            State = result.Outcome == DeliveryOutcome.Taken ? OutboxState.Sent : OutboxState.Refused,
            Done = new OutboxStamp(parts.BootId, now),
            Answer = result.Answer,
        };
        _storing = new OutboxChange(channel.Name) { Messages = [ended] };
        _stored = parts.Outbox.ChangeAsync(_storing);
    }
}

/// <summary>What a channel works with.</summary>
/// <param name="BootId">Identity of this boot.</param>
/// <param name="Clock">Reads both clocks.</param>
/// <param name="Outbox">Where messages are kept.</param>
/// <param name="News">What is to be told.</param>
/// <param name="Writer">Puts it into words.</param>
/// <param name="Delivery">Sends it.</param>
/// <param name="Numbers">Shared by all channels.</param>
/// <param name="NewIdentity">Makes an identity that no other message of any machine has.</param>
/// <param name="Tell">Records a notice.</param>
internal sealed record ChannelParts(
    string BootId, Func<ClockReading> Clock, IOutbox Outbox, INews News, IMessageWriter Writer, IDelivery Delivery, MessageNumbers Numbers, Func<string> NewIdentity,
    Action<NoticeKind, string> Tell);

/// <summary>Puts messages into words.</summary>
internal interface IMessageWriter
{
    /// <summary>One incident, or its end.</summary>
    OutboxContent Write(OutboxMessage message, in ClockReading now);

    /// <summary>Several as one.</summary>
    /// <param name="summary">The message.</param>
    /// <param name="told">What it is to tell.</param>
    /// <param name="now">The clocks now.</param>
    OutboxContent Write(OutboxMessage summary, IReadOnlyList<OutboxMessage> told, in ClockReading now);
}

/// <summary>Identities of messages.</summary>
internal static class MessageIdentity
{
    private const string EndSuffix = "-end";

    /// <summary>That of an incident's end: it follows from the incident's, so that both can be told to belong together.</summary>
    public static string OfEnd(string incident) => incident + EndSuffix;

    /// <summary>That of the message an end belongs to; null for what is no end.</summary>
    public static string? IncidentOf(string identity) => identity.EndsWith(EndSuffix, StringComparison.Ordinal) ? identity[..^EndSuffix.Length] : null;
}

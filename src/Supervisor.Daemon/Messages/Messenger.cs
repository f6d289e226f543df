using Supervisor.Bus;
using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Machines.Messages;
using Supervisor.Daemon.Hosting;
using Supervisor.Daemon.Services;
using Supervisor.History;
using Supervisor.History.Entries;
using Supervisor.History.Outbox;
using Supervisor.History.Reading;

namespace Supervisor.Daemon.Messages;

/// <summary>
/// Tells incidents to people who are not there: steps every channel on one thread behind everything else of the process. What is on the network runs beside it;
/// nothing of it stands in the way of axes, of the history's writer or of the end of the process.
/// </summary>
public sealed partial class Messenger
{
    private static readonly TimeSpan Interval = TimeSpan.FromMilliseconds(250);
    private static readonly TimeSpan AfterError = TimeSpan.FromSeconds(5);

    // A message that is being taken is noted as sent if that is soon; else it is sent again after the next start, with the same identity.
    private static readonly TimeSpan EndPatience = TimeSpan.FromSeconds(1);

    private readonly IMonotonicClock _clock;
    private readonly HistoryStore _history;
    private readonly ILogger<Messenger> _logger;
    private readonly Thread _thread;
    private readonly List<Channel> _channels = [];
    private readonly ChannelTurns _turns;
    private volatile bool _isEnding;

    /// <param name="machine">Its channels.</param>
    /// <param name="history">Where incidents and messages are.</param>
    /// <param name="clock">CLOCK_MONOTONIC.</param>
    /// <param name="isSilent">Incidents that are recorded and not told, as a person took what leads them out of service.</param>
    /// <param name="logger">Where to log.</param>
    public Messenger(MachineDefinition machine, HistoryStore history, IMonotonicClock clock, Func<IncidentStory, bool> isSilent, ILogger<Messenger> logger)
    {
        ArgumentNullException.ThrowIfNull(machine);
        ArgumentNullException.ThrowIfNull(history);
        (_history, _clock, _logger) = (history, clock, logger);
        var (news, numbers) = (new IncidentNews(history, WallClock.BootId, isSilent), new MessageNumbers());
        var mapping = new IncidentMapping(new RecordMapping(machine));
        foreach (var channel in machine.Messages)
        {
            var writer = new MessageWriter(machine, channel, history.Reader, mapping);
            IDelivery delivery = channel.Email is { } email ? new EmailDelivery(email, machine.Name) : new WebhookDelivery(channel.Webhook!);
            var parts = new ChannelParts(
                WallClock.BootId, WallClock.Read, new HistoryOutbox(history), news, writer, delivery, numbers, NewIdentity, (kind, text) => Tell(channel.Name, kind, text));
            _channels.Add(new Channel(channel, writer, delivery, new ChannelSteps(channel, parts)));
        }

        _turns = new ChannelTurns([.. _channels.Select(channel => (Action)(() => channel.Steps.Step()))], (channel, exception) => LogChannelTrouble(_channels[channel].Definition.Name, exception));
        _thread = new Thread(Run) { Name = "messages", IsBackground = true };
    }

    /// <summary>How the channels fare, in the machine file's order. Any thread.</summary>
    public IReadOnlyList<ChannelStatus> Status => [.. _channels.Select(channel => channel.Steps.Status)];

    /// <summary>Begins.</summary>
    public void Start() => _thread.Start();

    /// <summary>Ends: what is on its way gets a moment.</summary>
    /// <returns>False when it did not end in time.</returns>
    public bool Stop(TimeSpan patience)
    {
        _isEnding = true;
        return !_thread.IsAlive || _thread.Join(patience);
    }

    /// <summary>Sends a trial message, which is not kept.</summary>
    /// <param name="channel">Name of the channel.</param>
    /// <param name="cancellation">Gives up.</param>
    /// <returns>Whether it was taken, and what the server said; null when there is no such channel.</returns>
    public async Task<(bool IsTaken, string Answer)?> TryAsync(string channel, CancellationToken cancellation)
    {
        if (_channels.Find(each => each.Definition.Name == channel) is not { } found)
        {
            return null;
        }

        var result = await found.Delivery.SendAsync(found.Writer.Trial(NewIdentity(), WallClock.Read()), cancellation);
        return (result.Outcome == DeliveryOutcome.Taken, result.Answer);
    }

    private static string NewIdentity() => Guid.NewGuid().ToString();

    private void Run()
    {
        RealTimePriority.LowerThisThread();
        var isWithdrawn = false;
        while (!_isEnding && !(isWithdrawn && _channels.Count == 0))
        {
            try
            {
                isWithdrawn = isWithdrawn || Withdraw();
                _turns.Step(_clock.Now);
                _clock.WaitUntil(_clock.Now + Interval);
            }
#pragma warning disable CA1031 // Messages must never take the machine down with them: what is not stored is looked at anew.
            catch (Exception exception)
#pragma warning restore CA1031
            {
                LogTrouble(exception);
                Rest(AfterError);
            }
        }

        End();
    }

    /// <summary>What waits for a channel that is gone from the machine file is told in the history, and no longer waits.</summary>
    private bool Withdraw()
    {
        // The file is there once this start is in it.
        if (_history.Health.Committed == 0)
        {
            return false;
        }

        var now = WallClock.Read();
        foreach (var gone in _history.Outbox.Orphans([.. _channels.Select(channel => channel.Definition.Name)]).GroupBy(message => message.Channel))
        {
            var done = new OutboxStamp(WallClock.BootId, now);
            OutboxMessage[] withdrawn = [.. gone.Select(message => message with { State = OutboxState.Withdrawn, Done = done, Answer = "the machine file no longer has the channel" })];
            _ = _history.ChangeAsync(new OutboxChange(gone.Key) { Messages = withdrawn });
            Tell(gone.Key, NoticeKind.MessageGivenUp, $"{Records.Counted.Of(withdrawn.Length, "message")} that waited for the channel {gone.Key} will not be sent: the machine file no longer has it.");
        }

        return true;
    }

    private void End()
    {
        var until = _clock.Now + EndPatience;
        try
        {
            while (_clock.Now < until && _channels.Exists(channel => channel.Steps.IsBusy))
            {
                _channels.ForEach(channel => channel.Steps.Step(mayBegin: false));
                _clock.WaitUntil(_clock.Now + (Interval / 10));
            }
        }
#pragma warning disable CA1031
        catch (Exception exception)
#pragma warning restore CA1031
        {
            LogTrouble(exception);
        }

        foreach (var channel in _channels)
        {
            channel.Steps.Cancel();
            channel.Steps.Dispose();
        }
    }

    private void Rest(TimeSpan time)
    {
        for (var until = _clock.Now + time; _clock.Now < until && !_isEnding;)
        {
            _clock.WaitUntil(_clock.Now + Interval);
        }
    }

    private void Tell(string channel, NoticeKind kind, string text)
    {
        if (kind == NoticeKind.MessagesThrough)
        {
            LogThrough(channel, text);
        }
        else
        {
            LogHeldUp(channel, text);
        }

        _history.Append(new NoticeRecord(_clock.Now, kind, 0, text));
    }

    [LoggerMessage(1801, LogLevel.Warning, "Channel {Channel}: {Text}", EventName = "MessagesHeldUp")]
    private partial void LogHeldUp(string channel, string text);

    [LoggerMessage(1802, LogLevel.Information, "Channel {Channel}: {Text}", EventName = "MessagesThrough")]
    private partial void LogThrough(string channel, string text);

    [LoggerMessage(1803, LogLevel.Warning, "Messages to people are looked at anew after an error", EventName = "MessagesTrouble")]
    private partial void LogTrouble(Exception exception);

    [LoggerMessage(1804, LogLevel.Warning, "Channel {Channel} is looked at anew after an error of the program; what it has to tell is kept", EventName = "ChannelTrouble")]
    private partial void LogChannelTrouble(string channel, Exception exception);

    private sealed record Channel(MessageChannel Definition, MessageWriter Writer, IDelivery Delivery, ChannelSteps Steps);
}

using Supervisor.History.Entries;
using Supervisor.History.Outbox;
using Supervisor.Records;

namespace Supervisor.Daemon.Messages;

/// <summary>Whether a channel gets through. A trouble is recorded once, when it has lasted a while, and its end.</summary>
/// <param name="channel">Name of the channel.</param>
/// <param name="tell">Records a notice.</param>
internal sealed class ChannelTrouble(string channel, Action<NoticeKind, string> tell)
{
    // A server that puts off a sender it does not know, or is started anew, is none that a person should look after.
    private static readonly TimeSpan ToldAfter = TimeSpan.FromMinutes(2);

    private TimeSpan? _since;
    private int _failures;
    private bool _isTold;

    /// <summary>Why the last attempt failed; empty while they do not.</summary>
    public string Problem { get; private set; } = "";

    /// <summary>How long attempts have failed in a row.</summary>
    public TimeSpan? FailingFor(TimeSpan now) => now - _since;

    /// <summary>A message was taken.</summary>
    public void Through(TimeSpan now)
    {
        if (_isTold)
        {
            tell(NoticeKind.MessagesThrough, $"Messages by {channel} get through again, after {Duration(now - _since!.Value)}.");
        }

        (_since, _failures, _isTold, Problem) = (null, 0, false, "");
    }

    /// <summary>An attempt failed; gives the time until the next.</summary>
    public TimeSpan NotNow(DeliveryResult result, TimeSpan now)
    {
        var wait = Failed(result, now);
        if (!_isTold && now - _since >= ToldAfter)
        {
            _isTold = true;
            tell(NoticeKind.MessagesHeldUp, $"Messages by {channel} do not get through: {result.Answer} They are kept and tried again.");
        }

        return wait;
    }

    /// <summary>A message was refused for good; gives the time until the next one is tried.</summary>
    public TimeSpan Refused(OutboxMessage message, DeliveryResult result, TimeSpan now)
    {
        var wait = Failed(result, now);
        if (!_isTold)
        {
            _isTold = true;
            tell(
                NoticeKind.MessageGivenUp,
                $"The server of {channel} refused message {message.Number}{(message.Incident is { } incident ? $" of incident {incident}" : "")} for good: {result.Answer} Check the channel in the machine file, then try it with `messages test`.");
        }

        return wait;
    }

    /// <summary>A time for a person, in whole minutes or seconds.</summary>
    public static string Duration(TimeSpan time) => time.TotalMinutes < 2 ? Counted.Of((long)time.TotalSeconds, "second")
        : time.TotalHours < 2 ? Counted.Of((long)time.TotalMinutes, "minute")
        : Counted.Of((long)time.TotalHours, "hour");

    private TimeSpan Failed(DeliveryResult result, TimeSpan now)
    {
        _since ??= now;
        _failures++;
        Problem = result.Answer;
        return BackOff.After(_failures, result.RetryAfter);
    }
}

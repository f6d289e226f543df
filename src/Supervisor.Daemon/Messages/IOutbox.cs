using Supervisor.History;
using Supervisor.History.Outbox;

namespace Supervisor.Daemon.Messages;

/// <summary>What a channel needs of the place where messages are kept.</summary>
internal interface IOutbox
{
    /// <summary>How a channel stands; null while that is not known.</summary>
    /// <param name="channel">Its name.</param>
    /// <param name="done">Messages behind it that are wanted as well.</param>
    OutboxLook? Look(string channel, int done);

    /// <summary>Stores a change; ends with true once it outlives a loss of power, with false when it is lost.</summary>
    Task<bool> ChangeAsync(OutboxChange change);
}

/// <summary>The outbox in the history's file.</summary>
internal sealed class HistoryOutbox(HistoryStore history) : IOutbox
{
    public OutboxLook? Look(string channel, int done) => history.Outbox.Look(channel, done);

    public Task<bool> ChangeAsync(OutboxChange change) => history.ChangeAsync(change);
}

/// <summary>Gives messages their numbers, above all that were given.</summary>
internal sealed class MessageNumbers
{
    private long _last;

    /// <summary>A number that was given before.</summary>
    public void Seen(long number) => _last = Math.Max(_last, number);

    public long Next() => ++_last;
}

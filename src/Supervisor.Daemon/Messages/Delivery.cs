using Supervisor.History.Outbox;

namespace Supervisor.Daemon.Messages;

/// <summary>Hands messages to a server.</summary>
internal interface IDelivery
{
    /// <summary>Tries once. Never faults: what goes wrong is in the result.</summary>
    /// <param name="message">With its content.</param>
    /// <param name="cancellation">Gives up.</param>
    Task<DeliveryResult> SendAsync(OutboxMessage message, CancellationToken cancellation);
}

/// <summary>What came of an attempt.</summary>
/// <param name="Outcome">How it ended.</param>
/// <param name="Answer">What the server said, or what went wrong; for a person. Never a secret.</param>
/// <param name="RetryAfter">How long the server asks to be left alone; null: it does not say.</param>
/// <param name="IsOfMessage">True where the server had the message in hand, so that the message itself may be what it stumbles over.</param>
internal sealed record DeliveryResult(DeliveryOutcome Outcome, string Answer, TimeSpan? RetryAfter = null, bool IsOfMessage = false);

/// <summary>How an attempt ended.</summary>
public enum DeliveryOutcome
{
    /// <summary>The server has taken it.</summary>
    Taken,

    /// <summary>Not now: to be tried again. The server may have taken it without that being known.</summary>
    NotNow,

    /// <summary>The server does not want this message, now or later.</summary>
    Refused,
}

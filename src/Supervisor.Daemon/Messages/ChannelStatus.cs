namespace Supervisor.Daemon.Messages;

/// <summary>How a channel fares. Immutable.</summary>
/// <param name="Name">Its name.</param>
/// <param name="Kind"><c>email</c> or <c>webhook</c>.</param>
/// <param name="Waiting">Messages that are to be sent.</param>
/// <param name="OldestFor">How long the oldest of them has waited, at the monotonic time <paramref name="At"/>; null when none waits.</param>
/// <param name="FailingFor">How long attempts have failed in a row; null while they do not.</param>
/// <param name="Problem">Why the last attempt failed; empty while they do not.</param>
/// <param name="Sent">Messages taken by the server since the start.</param>
/// <param name="GivenUp">Messages refused for good since the start.</param>
/// <param name="IsHeld">True while messages wait because the places of this hour are used up.</param>
/// <param name="At">When this was so, monotonic.</param>
public sealed record ChannelStatus(
    string Name, string Kind, int Waiting, TimeSpan? OldestFor, TimeSpan? FailingFor, string Problem, long Sent, long GivenUp, bool IsHeld, TimeSpan At)
{
    /// <summary>Before anything was read.</summary>
    public static ChannelStatus Unknown(string name, string kind) => new(name, kind, 0, null, null, "", 0, 0, false, TimeSpan.Zero);
}

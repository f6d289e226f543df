using Supervisor.History.Outbox;

namespace Supervisor.Daemon.Messages;

/// <summary>
/// Decides what a channel sends next, so that a person is told of everything and called no more often than the machine file allows. While there is room in
/// the hour, each incident goes by itself, the gravest first. The last place of an hour takes all that is left as one summary. Once half of the hour's places
/// are used up, an incident whose cause was told within the hour waits up to a quarter of one, so that there is room for what is new.
/// </summary>
internal static class DeliveryPlan
{
    /// <summary>Time in which messages are counted.</summary>
    public static readonly TimeSpan Hour = TimeSpan.FromHours(1);

    /// <summary>Longest time that an incident with a known cause waits for others of its kind while places are scarce.</summary>
    public static readonly TimeSpan LongestHold = TimeSpan.FromMinutes(15);

    /// <summary>Failed attempts after which a message steps behind the others: what its server does not take must not stand in their way.</summary>
    public const int PatientTries = 4;

    /// <param name="waiting">What waits, in any order.</param>
    /// <param name="used">Places of the hour that are used up.</param>
    /// <param name="perHour">Places of an hour.</param>
    /// <param name="wasTold">Whether a cause was told within the hour.</param>
    /// <returns>One message; several that are to be told as one; or none, which means: later.</returns>
    public static IReadOnlyList<Waiting> Choose(IReadOnlyList<Waiting> waiting, int used, int perHour, Func<string, bool> wasTold)
    {
        var left = perHour - used;
        if (left <= 0 || waiting.Count == 0)
        {
            return [];
        }

        // What was tried is written: it goes as it is, the oldest first.
        if (waiting.Where(each => each.Message.Content is not null && each.Tries < PatientTries).MinBy(each => each.Message.Number) is { } tried)
        {
            return [tried];
        }

        var open = waiting.Where(each => each.Message.Content is null).OrderByDescending(each => each.Message.Priority).ThenBy(each => each.Message.Number).ToArray();
        if (open.Length == 0)
        {
            return [waiting.MinBy(each => each.Tries)!];
        }

        var isScarce = left < perHour && left * 2 <= perHour;
        var ready = isScarce ? [.. open.Where(each => each.Message.Kind == OutboxKind.End || !wasTold(each.Message.Cause))] : open;
        if (ready.Length == 0)
        {
            return open.Max(each => each.Age) >= LongestHold ? open : [];
        }

        return left >= 2 || open.Length == 1 ? [ready[0]] : open;
    }

    /// <summary>A message that waits.</summary>
    /// <param name="Message">The message.</param>
    /// <param name="Age">How long it has waited.</param>
    /// <param name="Tries">Attempts that failed with the message in the server's hands.</param>
    internal sealed record Waiting(OutboxMessage Message, TimeSpan Age, int Tries);
}

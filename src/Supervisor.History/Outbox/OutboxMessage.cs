using Supervisor.History.Clocks;

namespace Supervisor.History.Outbox;

/// <summary>A message to a person as it stands in the outbox.</summary>
/// <param name="Number">Its number, given by whoever puts it in: above every number before.</param>
/// <param name="Channel">Name of the channel it goes by.</param>
/// <param name="Kind">What it tells.</param>
/// <param name="Identity">What the receiver knows it by, the same at every attempt.</param>
public sealed record OutboxMessage(long Number, string Channel, OutboxKind Kind, string Identity)
{
    /// <summary>Incident it tells of; null for a summary of several.</summary>
    public long? Incident { get; init; }

    /// <summary>How urgent it is among others, as <see cref="Supervisor.Records.Faults.FaultPriority"/> counts.</summary>
    public int Priority { get; init; }

    /// <summary>What led, in a form that is equal for equal causes.</summary>
    public string Cause { get; init; } = "";

    /// <summary>How far it is.</summary>
    public OutboxState State { get; init; } = OutboxState.Waiting;

    /// <summary>Number of the summary that tells it; null where it goes by itself.</summary>
    public long? Summary { get; init; }

    /// <summary>When it was put in.</summary>
    public OutboxStamp Made { get; init; }

    /// <summary>When it came to its end; null while it waits.</summary>
    public OutboxStamp? Done { get; init; }

    /// <summary>What is said; null until the first attempt, the same at every attempt after it.</summary>
    public OutboxContent? Content { get; init; }

    /// <summary>What the receiver answered at the end, or why it was given up; may be empty.</summary>
    public string Answer { get; init; } = "";
}

/// <summary>What a message says. Once written it is never changed, so that the same identity always means the same bytes.</summary>
/// <param name="Subject">One line.</param>
/// <param name="Body">A text, or JSON.</param>
/// <param name="Written">Wall clock at which it was written; null while that had not been set.</param>
public sealed record OutboxContent(string Subject, string Body, DateTimeOffset? Written);

/// <summary>A moment by both clocks.</summary>
/// <param name="BootId">Boot of the board; monotonic times compare within one boot only.</param>
/// <param name="Clock">Both clocks.</param>
public readonly record struct OutboxStamp(string BootId, ClockReading Clock)
{
    /// <summary>How long ago it was: by the monotonic clock within one boot, else by the time of day where that was set both times, else as long as this boot lasts.</summary>
    /// <param name="bootId">This boot.</param>
    /// <param name="now">The clocks now.</param>
    public TimeSpan Age(string bootId, in ClockReading now)
    {
        var age = BootId == bootId ? now.Monotonic - Clock.Monotonic
            : Clock.Quality == UtcQuality.Synchronised && now.Quality == UtcQuality.Synchronised ? now.Utc - Clock.Utc
            : now.Monotonic;
        return age > TimeSpan.Zero ? age : TimeSpan.Zero;
    }
}

/// <summary>What a message tells.</summary>
/// <remarks>Numbers are stored: append, never renumber.</remarks>
public enum OutboxKind : byte
{
    None = 0,

    /// <summary>One incident.</summary>
    Incident = 1,

    /// <summary>Every axis of an incident that was told is back.</summary>
    End = 2,

    /// <summary>Several incidents, above what may be told one by one.</summary>
    Summary = 3,
}

/// <summary>How far a message is.</summary>
/// <remarks>Numbers are stored: append, never renumber.</remarks>
public enum OutboxState : byte
{
    None = 0,

    /// <summary>It is to be sent.</summary>
    Waiting = 1,

    /// <summary>The receiver's server has taken it.</summary>
    Sent = 2,

    /// <summary>The receiver's server refused it for good.</summary>
    Refused = 3,

    /// <summary>A summary tells it.</summary>
    InSummary = 4,

    /// <summary>Its channel is gone from the machine file.</summary>
    Withdrawn = 5,
}

using Supervisor.History.Clocks;

namespace Supervisor.Daemon.Messages;

/// <summary>What an incident comes to, for whoever decides whether it is told.</summary>
/// <param name="Incident">Its number.</param>
/// <param name="Priority">That of its gravest fault, as <see cref="Records.Faults.FaultPriority"/> counts.</param>
/// <param name="Cause">What led, in a form that is equal for equal causes.</param>
/// <param name="IsSettled">True once nothing is expected to join it soon.</param>
/// <param name="Standing">How far it is.</param>
internal sealed record News(long Incident, int Priority, string Cause, bool IsSettled, NewsStanding Standing)
{
    /// <summary>True for what a person took out of service: it is recorded and not told.</summary>
    public bool IsSilent { get; init; }
}

/// <summary>How far an incident is.</summary>
internal enum NewsStanding
{
    /// <summary>An axis of it is not back.</summary>
    Standing,

    /// <summary>Every axis is back.</summary>
    Back,

    /// <summary>Its end will never be known, or it never had one.</summary>
    NoEnd,
}

/// <summary>Where news of incidents comes from, and how they are put into words.</summary>
internal interface INews
{
    /// <summary>Another number whenever there may be something new.</summary>
    long Version { get; }

    /// <summary>Incidents behind a number, the lowest first.</summary>
    /// <param name="incident">Number before the first looked for.</param>
    /// <param name="limit">Most incidents.</param>
    /// <param name="settle">Time without a further fault after which one is settled.</param>
    /// <param name="now">The clocks now.</param>
    IReadOnlyList<News> After(long incident, int limit, TimeSpan settle, in ClockReading now);

    /// <summary>How an incident stands; null when none of it is kept.</summary>
    News? Of(long incident, in ClockReading now);
}

using System.Text.Json;
using Supervisor.Daemon.Verbs;
using Supervisor.Daemon.Verbs.History;

namespace Supervisor.Daemon.Messages;

/// <summary>The body of a webhook. <c>Kind</c> is incident, end, summary or trial; what does not concern it is null or empty.</summary>
/// <param name="Id">The same at every attempt.</param>
/// <param name="Kind">What it tells.</param>
/// <param name="Machine">Name of the machine.</param>
/// <param name="Priority">low, medium or high.</param>
/// <param name="Title">One line.</param>
/// <param name="Text">The same as in a mail.</param>
/// <param name="Written">When it was put into words, RFC 3339; null while the board's clock had not been set.</param>
public sealed record WebhookJson(string Id, string Kind, string Machine, string Priority, string Title, string Text, string? Written)
{
    /// <summary>The incident.</summary>
    public IncidentJson? Incident { get; init; }

    /// <summary>What to do.</summary>
    public IReadOnlyList<AdviceJson> Advice { get; init; } = [];

    /// <summary>Further faults of it.</summary>
    public IReadOnlyList<HistoryJsonRecord> Consequences { get; init; } = [];

    /// <summary>Stops, recoveries and returns.</summary>
    public IReadOnlyList<HistoryJsonRecord> Reactions { get; init; } = [];

    /// <summary>Incidents of a summary, at most 200.</summary>
    public IReadOnlyList<ToldIncidentJson> Incidents { get; init; } = [];

    /// <summary>How many incidents it tells of.</summary>
    public int Count { get; init; }

    /// <summary>What shows the incident at the machine's computer.</summary>
    public string? Command { get; init; }

    /// <summary>As it is sent.</summary>
    internal string Write() => JsonSerializer.Serialize(this, JsonShapes.Readable.WebhookJson);
}

/// <summary>One incident of a summary.</summary>
public sealed record ToldIncidentJson(long Number, string Title, string When, string Priority, string Cause);

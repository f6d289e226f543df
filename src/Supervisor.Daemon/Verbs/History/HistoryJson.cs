using System.Globalization;
using Supervisor.Api.V1;

namespace Supervisor.Daemon.Verbs.History;

/// <summary>One record for programs. What does not concern it is null. <c>Time</c> is null where it is not known; <c>SinceBootS</c> always is.</summary>
public sealed record HistoryJsonRecord(
    long Sequence, string? Time, string TimeQuality, double SinceBootS, string Boot, string Kind, string? Axis, string? Port, string? Interlock, string Text, string? Fault, string? Class,
    int? DriveCode, string? State, double? Position, string? Unit, ulong? CommandId, string? Command, string? Holder, string? Outcome, long? Incident, string? Relation, long? Follows,
    long Count, double? LastSinceBootS)
{
    public static HistoryJsonRecord From(HistoryRecord record)
    {
        ArgumentNullException.ThrowIfNull(record);
        return new(
            record.Sequence, record.Time?.ToDateTime().ToString("O", CultureInfo.InvariantCulture), Word(record.TimeQuality), record.SinceBootS, record.Boot, Word(record.Kind),
            NotEmpty(record.Axis), NotEmpty(record.Port), NotEmpty(record.Interlock), record.Text, NotEmpty(record.Fault), NotEmpty(record.FaultClass),
            record.Kind is RecordKind.Fault or RecordKind.TimeoutProof ? (int)record.DriveCode : null, record.State == AxisState.Unspecified ? null : Verbs.Text.Of(record.State),
            record.HasPosition ? record.Position : null, NotEmpty(record.Unit), record.CommandId != 0 ? record.CommandId : null, NotEmpty(record.Command), NotEmpty(record.Holder),
            NotEmpty(Verbs.Text.Of(record.Outcome)), record.Incident != 0 ? record.Incident : null, record.Relation == Api.V1.Relation.Unspecified ? null : Word(record.Relation),
            record.Follows != 0 ? record.Follows : null, record.Count, record.Count > 1 ? record.LastSinceBootS : null);
    }

    internal static string Word<T>(T value)
        where T : struct, Enum
    {
        var name = value.ToString();
        return char.ToLowerInvariant(name[0]) + name[1..];
    }

    private static string? NotEmpty(string text) => text.Length > 0 ? text : null;
}

/// <summary>A stretch of numbers that have no record any more.</summary>
public sealed record HistoryGapJson(long First, long Last, long Missing);

/// <summary>One line of <c>history --follow --json</c>: a record, or a gap.</summary>
public sealed record HistoryFollowJson(HistoryJsonRecord? Record, HistoryGapJson? Gap);

/// <summary>Incidents, newest first.</summary>
public sealed record IncidentsJson(IReadOnlyList<IncidentJson> Incidents);

/// <summary>One incident. <c>BackAfterS</c> is null while an axis is not back, and where that is not known.</summary>
public sealed record IncidentJson(
    long Number, string State, double? BackAfterS, long Faults, long Consequences, IReadOnlyList<string> Axes, HistoryJsonRecord Lead, HistoryJsonRecord? Gravest)
{
    public static IncidentJson From(Incident incident)
    {
        ArgumentNullException.ThrowIfNull(incident);
        return new(
            incident.Number, HistoryJsonRecord.Word(incident.State), incident.HasBackAfterS ? incident.BackAfterS : null, incident.Faults, incident.Consequences, incident.Axes,
            HistoryJsonRecord.From(incident.Lead), incident.Gravest is { } gravest ? HistoryJsonRecord.From(gravest) : null);
    }
}

/// <summary>What to do about one kind of fault.</summary>
public sealed record AdviceJson(string Fault, string Name, string Meaning, IReadOnlyList<string> Causes, string Remedy, IReadOnlyList<string> Axes);

/// <summary>An incident whole.</summary>
public sealed record IncidentStoryJson(
    IncidentJson Incident, IReadOnlyList<AdviceJson> Advice, IReadOnlyList<HistoryJsonRecord> Before, IReadOnlyList<HistoryJsonRecord> Records, long LeftOut)
{
    public static IncidentStoryJson From(GetIncidentResponse story)
    {
        ArgumentNullException.ThrowIfNull(story);
        return new(
            IncidentJson.From(story.Incident),
            [.. story.Advice.Select(each => new AdviceJson(each.Fault, each.Name, each.Meaning, each.Causes, each.Remedy, each.Axes))],
            [.. story.Before.Select(HistoryJsonRecord.From)], [.. story.Records.Select(HistoryJsonRecord.From)], story.LeftOut);
    }
}
